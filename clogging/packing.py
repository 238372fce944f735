"""From histories to padded arrays, so that all surfaces run through the filter at once.

A history becomes a row of steps. A step moves the state on in time, may clean, and takes in at most one
number. A round of tests at spots chosen that day is one step, its mean log rate; a round with inequalities
or with fixed locations takes several steps on one day, held together by a day effect in the state.

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
from .checking import check_history
from .types import (
    CLEANING_METHODS,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    RoundEvent,
    SpotTest,
    SurfaceHistory,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NO_READING, EXACT, BELOW, ABOVE = 0, 1, 2, 3

_CODE = {"=": EXACT, "<": BELOW, ">": ABOVE}
_SURFACE = {key: i for i, key in enumerate(SURFACE_TYPES)}
_CLEANING = {key: i for i, key in enumerate(CLEANING_METHODS)}
_METHOD = {key: i for i, key in enumerate(TEST_METHODS)}


class Step(NamedTuple):
    """One row of the flat table; all numbers, so that it becomes an array at once.

    event: place of the event in the history; t_yr: years since opening
    cleaning: cleaning method or -1; share: of the area cleaned; wet: 0 or 1
    code: NO_READING, EXACT, BELOW or ABOVE; y: log rate (mean of n tests) or log bound
    inv_n: 1 / n; named: 1 at a fixed location; day: 1 when the day scatter sits in the reading's variance
    reset: 1 when a new day effect is drawn before the reading; uses_day: 1 when it is read
    method: test method or -1; method_slot, location_slot: offsets read, or -1
    fixed_var: variance of a method offset met only once; n, ss: tests in the mean, their sum of squares
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
    fixed_var: float = 0.0
    n: float = 0.0
    ss: float = 0.0


STEP_AT = {name: i for i, name in enumerate(Step._fields)}  # column of each field in StepTable.rows


class StepTable(NamedTuple):
    """Many surfaces as flat columns.

    surface_type: (S,) index into SURFACE_TYPES; z: (S, 5) conditions
    first: (S + 1,) steps of surface i are rows first[i] to first[i + 1]
    rows: (R, 18) the columns of Step
    offset_var: per surface, the variances of its offset states; NaN marks a fixed location
    """

    surface_type: Ints
    z: Floats
    first: Ints
    rows: Floats
    offset_var: list[tuple[float, ...]]


def conditions_row(conditions: Conditions) -> tuple[float, ...]:
    """The conditions as the five numbers that multiply beta."""
    run_on = min(conditions.run_on_ratio, priors.RUN_ON_CAP)
    flags = (float(conditions.bare_soil), float(conditions.trees), float(conditions.winter_grit))
    return (run_on, *flags, float(conditions.traffic))


def _repeated_locations(events: Iterable[RoundEvent | CleaningEvent]) -> list[str]:
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
    ss: float


def _readings(tests: Sequence[SpotTest], slots: dict[str, int]) -> list[_Reading]:
    """One entry a mean of exact results by location, then one an inequality, in an order of their own."""
    exact: dict[int, list[float]] = {}
    bounds: list[_Reading] = []
    for rate_mm_h, bound, location in tests:
        slot = slots.get(location, -1) if location else -1
        if bound == "=":
            exact.setdefault(slot, []).append(log(rate_mm_h))
        else:
            bounds.append(_Reading(_CODE[bound], log(rate_mm_h), 1.0, slot, 1.0, 0.0))
    return [_mean_reading(slot, sorted(exact[slot])) for slot in sorted(exact)] + sorted(bounds)


def _mean_reading(slot: int, logs: list[float]) -> _Reading:
    n = len(logs)
    mean = sum(logs) / n
    ss = sum([(value - mean) ** 2 for value in logs])
    return _Reading(EXACT, mean, 1.0 / n, slot, float(n), ss)


class _Offsets(NamedTuple):
    """Offset states of one surface: slot of each, and the variance of each (NaN for a location)."""

    locations: dict[str, int]
    methods: dict[str, int]
    variances: tuple[float, ...]


def _plan_offsets(
    events: tuple[RoundEvent | CleaningEvent, ...],
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
    variances = (float("nan"),) * len(names) + tuple(priors.METHODS[m].surface_sd ** 2 for m in repeated)
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
            ss=ss,
        )
        for i, (code, y, inv_n, location_slot, n, ss) in enumerate(readings)
    ]


def _same_day_order(item: tuple[int, RoundEvent | CleaningEvent]) -> tuple[bool, str, tuple[object, ...]]:
    """An order that does not hang on the order of entry: exact rounds first, then by method and result."""
    event = item[1]
    if isinstance(event, CleaningEvent):
        return False, event.method, (event.share, event.wet)
    bounded = any(test.bound != "=" for test in event.tests)
    return bounded, event.method, tuple(sorted((t.bound, t.rate_mm_h, t.location or "") for t in event.tests))


def _ordered(events: Sequence[RoundEvent | CleaningEvent]) -> list[tuple[int, RoundEvent | CleaningEvent]]:
    """Events with their place; runs of one kind on one day are put in an order of their own."""
    runs: list[list[tuple[int, RoundEvent | CleaningEvent]]] = []
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


def history_steps(history: SurfaceHistory) -> tuple[list[Step], tuple[float, ...]]:
    """The steps of one history, and the variances of the offset states it needs."""
    ordered = _ordered(history.events)
    offsets, readings = _plan_offsets(tuple(event for _, event in ordered))
    steps: list[Step] = []
    for (at, event), parts in zip(ordered, readings, strict=True):
        if isinstance(event, RoundEvent):
            steps.extend(_round_steps(at, event, parts, offsets))
        else:
            steps.append(Step(at, event.t_yr, _CLEANING[event.method], event.share, float(event.wet)))
    return steps, offsets.variances


def flatten(histories: Sequence[SurfaceHistory]) -> StepTable:
    """Check every history and lay all of them out as one flat table.

    Raises ImpossibleRecordError naming the surface, the event and the value that cannot be.
    """
    rows: list[Step] = []
    first, offset_var = [0], []
    for at, history in enumerate(histories):
        check_history(history, at)
        steps, variances = history_steps(history)
        rows.extend(steps)
        first.append(len(rows))
        offset_var.append(variances)
    flat = np.fromiter(chain.from_iterable(rows), float, len(rows) * len(Step._fields))
    return StepTable(
        np.array([_SURFACE[h.surface_type] for h in histories], dtype=np.int64),
        np.array([conditions_row(h.conditions) for h in histories], dtype=float).reshape(len(histories), 5),
        np.array(first, dtype=np.int64),
        flat.reshape(len(rows), len(Step._fields)),
        offset_var,
    )
