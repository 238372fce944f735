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
CODE_AT = {"=": EXACT, "<": BELOW, ">": ABOVE}
SURFACE_AT = {key: i for i, key in enumerate(SURFACE_TYPES)}
CLEANING_AT = {key: i for i, key in enumerate(CLEANING_METHODS)}
SOURCE_AT = {key: i for i, key in enumerate(SOURCE_CHANGES)}
_METHOD = {key: i for i, key in enumerate(TEST_METHODS)}


class Step(NamedTuple):
    """One row of the flat table; all numbers, so that it becomes an array at once.

    event: place of the event in the history; t_yr: years since opening
    cleaning: cleaning method or -1; share: of the area cleaned; wet: 0 or 1
    code: NO_READING, EXACT, BELOW or ABOVE; y: log rate (mean of n tests) or log bound
    inv_n: variance of the mean over that of a test, 1 / n for spots of equal weight; named: 1 at a fixed location
    day: 1 when the day scatter sits in the reading's variance
    reset: 1 when a new day effect is drawn before the reading; uses_day: 1 when it is read
    method: test method or -1; method_slot, location_slot: offsets read, or -1
    source: change of source or -1
    fixed_var: variance of a method offset met only once; n: tests in the mean
    df, ss: degrees of freedom and sum of squares of the tests about the mean of their like, those of one weight
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
    spots: (S, 3) of surfaces whose rounds all test the same fixed locations, once each: rounds, contrasts between
        locations of one weight (locations less one where all weigh alike), and their squares about the rounds' means,
        times the rounds; 0 for others
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


Weighed = tuple[float, float]  # a log rate and its weight


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
    exact: dict[int, list[Weighed]] = {}
    bounds: list[_Reading] = []
    for rate_mm_h, bound, location, weight in tests:
        slot = slots.get(location, -1) if location else -1
        if rate_mm_h < priors.SEALED_MM_H and bound != ">":
            bounds.append(_Reading(BELOW, _LOG_SEALED, 1.0, slot, 1.0, 0.0, 0.0))
        elif bound == "=":
            exact.setdefault(slot, []).append((log(rate_mm_h), weight))
        else:
            bounds.append(_Reading(CODE_AT[bound], log(rate_mm_h), 1.0, slot, 1.0, 0.0, 0.0))
    return [_mean_reading(slot, sorted(exact[slot])) for slot in sorted(exact)] + sorted(bounds)


def _mean_reading(slot: int, logs: list[Weighed]) -> _Reading:
    """The mean by weight, and the squares about the means of tests of one weight.

    Of normal results only those squares are independent of the weighed mean; what differs between zones is no scatter.
    """
    if len(logs) == 1:
        return _Reading(EXACT, logs[0][0], 1.0, slot, 1.0, 0.0, 0.0)
    n, whole = len(logs), sum([weight for _, weight in logs])
    mean = sum([value * weight for value, weight in logs]) / whole
    inv_n = sum([weight**2 for _, weight in logs]) / whole**2
    alike: dict[float, list[float]] = {}
    for value, weight in logs:
        alike.setdefault(weight, []).append(value)
    ss = sum([_squares(values) for values in alike.values()])
    return _Reading(EXACT, mean, inv_n, slot, float(n), float(n - len(alike)), ss)


def _squares(values: list[float]) -> float:
    mean = sum(values) / len(values)
    return sum([(value - mean) ** 2 for value in values])


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
    before = (
        at,
        event.t_yr,
        -1,
        0.0,
        0.0,
    )  # no cleaning; fields by their places, which is quicker than by name
    scatter = (float(alone), 0.0, float(not alone), _METHOD[event.method], method_slot)
    steps = [
        Step(*before, code, y, inv_n, slot >= 0, *scatter, slot, -1, fixed_var, n, df, ss)
        for code, y, inv_n, slot, n, df, ss in readings
    ]
    if steps and not alone:
        steps[0] = steps[0]._replace(reset=1.0)
    return steps


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


def _spots_of(event: RoundEvent) -> list[tuple[str, float]]:
    return sorted((test.location or "", test.weight) for test in event.tests)


def _same_spots(ordered: Sequence[tuple[int, Event]]) -> list[tuple[str, float]] | None:
    """The fixed locations that every round tests by the ring, once each, all with plain results, and their weights.

    None otherwise.
    """
    rounds = [event for _, event in ordered if isinstance(event, RoundEvent)]
    spots = _spots_of(rounds[0]) if len(rounds) > 1 else []
    names = {name for name, _ in spots}
    if len(names) != len(spots) or len(spots) < 2 or "" in names:
        return None
    for event in rounds:
        plain = all(test.bound == "=" and test.rate_mm_h >= priors.SEALED_MM_H for test in event.tests)
        if not plain or event.method != "ring" or _spots_of(event) != spots:
            return None
    return spots


def _contrasts(logs: Floats, weights: Floats) -> tuple[float, float, float]:
    """Of results (rounds, spots): contrasts between spots of one weight, and their squares between spots and left over.

    With rounds by locations complete, the means of a round by weight and the contrasts within a weight are independent
    (two-way layout: Searle, Casella & McCulloch 2006, Variance Components, ch. 4), and only the means tell of x.
    """
    between = left = 0.0
    alike = [logs[:, weights == weight] for weight in np.unique(weights)]
    for part in alike:
        away = part - part.mean(1, keepdims=True)
        effects = away.mean(0)
        between += len(logs) * float(effects @ effects)
        left += float(((away - effects) ** 2).sum())
    return float(len(weights) - len(alike)), between, left


def _balanced(ordered: Sequence[tuple[int, Event]], spots: list[tuple[str, float]]) -> Laid:
    """A history whose rounds all test the same spots: their common offset stays, their contrasts are integrated out."""
    at = {name: i for i, (name, _) in enumerate(spots)}
    weights, n = np.array([weight for _, weight in spots]), len(spots)
    tests = [
        sorted(e.tests, key=lambda t: at[t.location or ""]) for _, e in ordered if isinstance(e, RoundEvent)
    ]
    logs = np.array([[log(test.rate_mm_h) for test in row] for row in tests])
    rounds = len(logs)
    means = iter(enumerate((logs @ weights / weights.sum()).tolist()))
    inv_n = float((weights**2).sum() / weights.sum() ** 2)
    contrasts, between, left = _contrasts(logs, weights)
    steps = []
    for place, event in ordered:
        if not isinstance(event, RoundEvent):
            steps.append(_plain_step(place, event))
            continue
        k, y = next(means)
        df, ss = (contrasts * (rounds - 1.0), left) if k == 0 else (0.0, 0.0)
        reading = _Reading(EXACT, y, inv_n, 0, float(n), df, ss)
        steps += _round_steps(place, event, [reading], _Offsets(at, {}, ()))
    return Laid(steps, (-inv_n,), (float(rounds), contrasts, between))


def _plain_step(at: int, event: CleaningEvent | SourceEvent) -> Step:
    if isinstance(event, SourceEvent):
        return Step(at, event.t_yr, source=SOURCE_AT[event.kind])
    return Step(at, event.t_yr, CLEANING_AT[event.method], event.share, float(event.wet))


def history_steps(history: SurfaceHistory) -> Laid:
    """One history laid out."""
    ordered = _ordered(history.events)
    spots = _same_spots(ordered)
    if spots is not None:
        return _balanced(ordered, spots)
    offsets, readings = _plan_offsets(tuple(event for _, event in ordered))
    steps: list[Step] = []
    for (at, event), parts in zip(ordered, readings, strict=True):
        if isinstance(event, RoundEvent):
            steps.extend(_round_steps(at, event, parts, offsets))
        else:
            steps.append(_plain_step(at, event))
    return Laid(steps, offsets.variances, (0.0, 0.0, 0.0))
