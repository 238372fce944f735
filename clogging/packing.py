"""From histories to padded arrays, so that all surfaces run through the filter at once.

A history becomes a row of steps. A step moves the state on in time, may clean or change the source of sediment,
and takes in at most one number. A round of tests at spots chosen that day is one step, its mean log rate; a round
with inequalities or with fixed locations takes several steps on one day, held together by a day effect in the state.

State: x, b, lam, and where a surface needs them a day effect and constant offsets (a fixed location used
more than once, a test method other than the ring used on more than one day). Surfaces are grouped by the
size of their state, so the common case stays at three.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import chain
from math import log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from . import priors
from .types import (
    CLEANING_METHODS,
    SOURCE_CHANGES,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    Event,
    RoundEvent,
    SourceEvent,
    SpotTest,
    SurfaceHistory,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NO_READING, EXACT, BELOW, ABOVE = 0, 1, 2, 3

_LOG_SEALED = log(priors.SEALED_MM_H)
_CODE = {"=": EXACT, "<": BELOW, ">": ABOVE}
SURFACE_AT = {key: i for i, key in enumerate(SURFACE_TYPES)}
CLEANING_AT = {key: i for i, key in enumerate(CLEANING_METHODS)}
SOURCE_AT = {key: i for i, key in enumerate(SOURCE_CHANGES)}
_METHOD = {key: i for i, key in enumerate(TEST_METHODS)}


class Step(NamedTuple):
    """One row of the flat table; all numbers, so that it becomes an array at once.

    event: place of the event in the history; t_yr: years since opening
    cleaning: cleaning method or -1; share: of the area cleaned; wet: 0 or 1
    code: NO_READING, EXACT, BELOW or ABOVE; y: log rate (mean of n tests) or log bound
    inv_n: 1 / n; named: 1 at a fixed location; day: 1 when the day scatter sits in the reading's variance
    reset: 1 when a new day effect is drawn before the reading; uses_day: 1 when it is read
    method: test method or -1; method_slot, location_slot: offsets read, or -1
    source: change of source or -1
    fixed_var: variance of a method offset met only once; n: tests in the mean
    df, ss: degrees of freedom and sum of squares of the tests about it
    """

    event: float
    t_yr: float
    cleaning: float = -1
    share: float = 0.0
    wet: float = 0.0
    code: float = NO_READING
    y: float = 0.0
    inv_n: float = 0.0
    named: float = 0.0
    day: float = 0.0
    reset: float = 0.0
    uses_day: float = 0.0
    method: float = -1
    method_slot: float = -1
    location_slot: float = -1
    source: float = -1
    fixed_var: float = 0.0
    n: float = 0.0
    df: float = 0.0
    ss: float = 0.0


STEP_AT = {name: i for i, name in enumerate(Step._fields)}  # column of each field in StepTable.rows


class StepTable(NamedTuple):
    """Many surfaces as flat columns.

    surface_type: (S,) index into SURFACE_TYPES; z: (S, 5) conditions
    first: (S + 1,) steps of surface i are rows first[i] to first[i + 1]
    rows: (R, 20) the columns of Step
    offset_var: per surface, the variances of its offset states; below 0 it is minus the part of a fixed location's
    spots: (S, 3) of surfaces whose rounds all test the same fixed locations, once each: rounds, locations less one,
        and the squares between locations about the rounds' means, times the rounds; 0 for others
    """

    surface_type: Ints
    z: Floats
    first: Ints
    rows: Floats
    offset_var: list[tuple[float, ...]]
    spots: Floats


def conditions_row(conditions: Conditions) -> tuple[float, ...]:
    """The conditions as the five numbers that multiply beta."""
    run_on = min(conditions.run_on_ratio, priors.RUN_ON_CAP)
    flags = (float(conditions.bare_soil), float(conditions.trees), float(conditions.winter_grit))
    return (run_on, *flags, float(conditions.traffic))


def _repeated_locations(events: Iterable[Event]) -> list[str]:
    """Locations tested more than once; one met once is no different from a spot chosen that day."""
    seen = Counter(
        test.location
        for event in events
        if isinstance(event, RoundEvent)
        for test in event.tests
        if test.location
    )
    return sorted(name for name, count in seen.items() if count > 1)


class _Reading(NamedTuple):
    """One number a round gives to the filter; fields as in Step."""

    code: int
    y: float
    inv_n: float
    location_slot: int
    n: float
    df: float
    ss: float


def _readings(tests: Sequence[SpotTest], slots: dict[str, int]) -> list[_Reading]:
    """One entry a mean of exact results by location, then one an inequality, in an order of their own.

    A result below priors.SEALED_MM_H says that the surface is sealed, not how far: clogging ends there.
    """
    exact: dict[int, list[float]] = {}
    bounds: list[_Reading] = []
    for rate_mm_h, bound, location in tests:
        slot = slots.get(location, -1) if location else -1
        if rate_mm_h < priors.SEALED_MM_H and bound != ">":
            bounds.append(_Reading(BELOW, _LOG_SEALED, 1.0, slot, 1.0, 0.0, 0.0))
        elif bound == "=":
            exact.setdefault(slot, []).append(log(rate_mm_h))
        else:
            bounds.append(_Reading(_CODE[bound], log(rate_mm_h), 1.0, slot, 1.0, 0.0, 0.0))
    return [_mean_reading(slot, sorted(exact[slot])) for slot in sorted(exact)] + sorted(bounds)


def _mean_reading(slot: int, logs: list[float]) -> _Reading:
    n = len(logs)
    mean = sum(logs) / n
    ss = sum([(value - mean) ** 2 for value in logs])
    return _Reading(EXACT, mean, 1.0 / n, slot, float(n), n - 1.0, ss)


class _Offsets(NamedTuple):
    """Offset states of one surface: slot of each, and the variance of each (-1 for a location)."""

    locations: dict[str, int]
    methods: dict[str, int]
    variances: tuple[float, ...]


def _plan_offsets(
    events: tuple[Event, ...],
) -> tuple[_Offsets, list[list[_Reading]]]:
    """Decide which offsets need a state, and cut every round into readings."""
    names = _repeated_locations(events)
    locations = {name: slot for slot, name in enumerate(names)}
    readings = [_readings(e.tests, locations) if isinstance(e, RoundEvent) else [] for e in events]
    used: Counter[str] = Counter()
    for event, parts in zip(events, readings, strict=True):
        if isinstance(event, RoundEvent) and event.method != "ring":
            used[event.method] += len(parts)
    repeated = sorted(method for method, count in used.items() if count > 1)
    methods = {method: len(names) + i for i, method in enumerate(repeated)}
    variances = (-1.0,) * len(names) + tuple(priors.METHODS[m].surface_sd ** 2 for m in repeated)
    return _Offsets(locations, methods, variances), readings


def _round_steps(at: int, event: RoundEvent, readings: list[_Reading], offsets: _Offsets) -> list[Step]:
    alone = len(readings) == 1
    method_slot = offsets.methods.get(event.method, -1)
    once = event.method != "ring" and method_slot < 0
    fixed_var = priors.METHODS[event.method].surface_sd ** 2 if once else 0.0
    return [
        Step(
            event=at,
            t_yr=event.t_yr,
            code=code,
            y=y,
            inv_n=inv_n,
            named=location_slot >= 0,
            day=alone,
            reset=i == 0 and not alone,
            uses_day=not alone,
            method=_METHOD[event.method],
            method_slot=method_slot,
            location_slot=location_slot,
            fixed_var=fixed_var,
            n=n,
            df=df,
            ss=ss,
        )
        for i, (code, y, inv_n, location_slot, n, df, ss) in enumerate(readings)
    ]


def _same_day_order(item: tuple[int, Event]) -> tuple[bool, str, tuple[object, ...]]:
    """An order that does not hang on the order of entry: exact rounds first, then by method and result."""
    event = item[1]
    if isinstance(event, CleaningEvent):
        return False, event.method, (event.share, event.wet)
    if isinstance(event, SourceEvent):
        return False, event.kind, ()
    bounded = any(test.bound != "=" for test in event.tests)
    return bounded, event.method, tuple(sorted((t.bound, t.rate_mm_h, t.location or "") for t in event.tests))


def _ordered(events: Sequence[Event]) -> list[tuple[int, Event]]:
    """Events with their place; runs of one kind on one day are put in an order of their own."""
    runs: list[list[tuple[int, Event]]] = []
    last: tuple[float, type] | None = None
    for item in enumerate(events):
        key = (item[1].t_yr, type(item[1]))
        if key != last:
            runs.append([])
        runs[-1].append(item)
        last = key
    return list(
        chain.from_iterable(sorted(run, key=_same_day_order) if len(run) > 1 else run for run in runs)
    )


class Laid(NamedTuple):
    """One history laid out: its steps, the variances of its offset states and its row of StepTable.spots."""

    steps: list[Step]
    offset_var: tuple[float, ...]
    spots: tuple[float, float, float]


def _same_spots(ordered: Sequence[tuple[int, Event]]) -> list[str] | None:
    """The fixed locations that every round tests by the ring, once each, all with plain results; None otherwise."""
    rounds = [event for _, event in ordered if isinstance(event, RoundEvent)]
    names = sorted(test.location or "" for test in rounds[0].tests) if len(rounds) > 1 else []
    if len(set(names)) != len(names) or len(names) < 2 or not names[0]:
        return None
    for event in rounds:
        plain = all(test.bound == "=" and test.rate_mm_h >= priors.SEALED_MM_H for test in event.tests)
        if (
            not plain
            or event.method != "ring"
            or sorted(test.location or "" for test in event.tests) != names
        ):
            return None
    return names


def _balanced(ordered: Sequence[tuple[int, Event]], names: list[str]) -> Laid:
    """A history whose rounds all test the same spots: their common offset stays, their contrasts are integrated out.

    With rounds by locations complete, the mean of a round and the contrasts between its spots are independent
    (two-way layout: Searle, Casella & McCulloch 2006, Variance Components, ch. 4), and only the mean tells of x.
    """
    at = {name: i for i, name in enumerate(names)}
    n, logs = len(names), []
    for _, event in ordered:
        if isinstance(event, RoundEvent):
            row = [0.0] * n
            for test in event.tests:
                row[at[test.location or ""]] = log(test.rate_mm_h)
            logs.append(row)
    means = [sum(row) / n for row in logs]
    rounds = len(logs)
    effects = [sum(row[i] - mean for row, mean in zip(logs, means, strict=True)) / rounds for i in range(n)]
    between = rounds * sum(effect**2 for effect in effects)
    within = sum(
        (value - mean - effects[i]) ** 2
        for row, mean in zip(logs, means, strict=True)
        for i, value in enumerate(row)
    )
    left, steps = iter(enumerate(means)), []
    for place, event in ordered:
        if not isinstance(event, RoundEvent):
            steps.append(_plain_step(place, event))
            continue
        k, y = next(left)
        df, ss = ((n - 1.0) * (rounds - 1.0), within) if k == 0 else (0.0, 0.0)
        reading = _Reading(EXACT, y, 1.0 / n, 0, float(n), df, ss)
        steps += _round_steps(place, event, [reading], _Offsets(at, {}, ()))
    return Laid(steps, (-1.0 / n,), (float(rounds), n - 1.0, between))


def _plain_step(at: int, event: CleaningEvent | SourceEvent) -> Step:
    if isinstance(event, SourceEvent):
        return Step(at, event.t_yr, source=SOURCE_AT[event.kind])
    return Step(at, event.t_yr, CLEANING_AT[event.method], event.share, float(event.wet))


def history_steps(history: SurfaceHistory) -> Laid:
    """One history laid out."""
    ordered = _ordered(history.events)
    names = _same_spots(ordered)
    if names is not None:
        return _balanced(ordered, names)
    offsets, readings = _plan_offsets(tuple(event for _, event in ordered))
    steps: list[Step] = []
    for (at, event), parts in zip(ordered, readings, strict=True):
        if isinstance(event, RoundEvent):
            steps.extend(_round_steps(at, event, parts, offsets))
        else:
            steps.append(_plain_step(at, event))
    return Laid(steps, offsets.variances, (0.0, 0.0, 0.0))
