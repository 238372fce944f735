"""Lays the usual histories out as arrays all at once; `packing` lays out one at a time whatever is unusual.

Usual is: every round by the ring, every result a reading of a surface that is not sealed at spots of equal weight, and
either no fixed spots or the same ones in the same order in every round. Whatever is not, or cannot be, is left to
`packing`, whose steps these must equal.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain, repeat
from operator import eq, itemgetter
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from . import priors
from .checking import check_history
from .packing import (
    CLEANING_AT,
    EXACT,
    SOURCE_AT,
    STEP_AT,
    SURFACE_AT,
    Floats,
    Ints,
    Laid,
    Step,
    StepTable,
    conditions_row,
    history_steps,
)
from .types import CleaningEvent, RoundEvent, SourceEvent, SurfaceHistory

Flags = NDArray[np.bool_]
Fields = tuple[
    Any, ...
]  # an event by the places of its fields, which its kind tells apart quicker than its class

FEW = 3  # histories that are laid out one at a time
_ROUND, _CLEANING, _SOURCE, _OTHER = 0, 1, 2, 3
_KIND: dict[type, int] = {RoundEvent: _ROUND, CleaningEvent: _CLEANING, SourceEvent: _SOURCE}
_DEFAULTS = np.array([0.0, 0.0, *Step._field_defaults.values()])


class Bulk(NamedTuple):
    """usual: (S,) histories laid out here; rows: (R, 20) their steps, surface after surface; spots, offset_var: (S,)"""

    usual: Flags
    rows: Floats
    spots: Floats
    same_spots: Ints  # (S,) fixed locations of histories whose rounds all test the same ones, else 0


class _Rounds(NamedTuple):
    """Rounds in order: the history and the event of each, tests in it, and all log results."""

    history: Ints
    event: Ints
    n: Ints
    logs: Floats


def _any_of(history: Ints, flags: Flags, size: int) -> Flags:
    """(S,) whether any of a history's items is marked."""
    marked: Flags = np.bincount(history[flags], minlength=size) > 0
    return marked


def _same_spots(history: SurfaceHistory) -> int:
    """Number of fixed locations when every round tests the same ones in the same order; 0 without any, -1 otherwise."""
    rounds = [[test[2] for test in event[2]] for event in history.events if type(event) is RoundEvent]
    if not any(map(any, rounds)):
        return 0
    first = rounds[0]
    same = all(names == first for names in rounds) and len(rounds) > 1 and len(first) > 1
    return len(first) if same and all(first) and len(set(first)) == len(first) else -1


def _odd_events(events: Sequence[Fields], kind: Ints, t: Floats, history: Ints) -> Flags:
    """(E,) events that are out of order, share a day with their like, or are not what a usual history holds."""
    follows = np.concatenate([[False], history[1:] == history[:-1]])
    before = np.concatenate([[0.0], t[:-1]])
    alike = np.concatenate([[False], kind[1:] == kind[:-1]])
    odd = ~(np.isfinite(t) & (t >= 0.0)) | (kind == _OTHER)
    odd |= follows & ((t < before) | ((t == before) & alike))
    for which, is_odd in ((_CLEANING, _odd_cleaning), (_SOURCE, _odd_source), (_ROUND, _odd_round)):
        at = np.flatnonzero(kind == which)
        odd[at] |= np.array([is_odd(events[i]) for i in at.tolist()], dtype=bool)
    return odd


def _odd_cleaning(event: Fields) -> bool:
    return event[1] not in CLEANING_AT or not 0.0 < event[2] <= 1.0


def _odd_source(event: Fields) -> bool:
    return event[1] not in SOURCE_AT


def _odd_round(event: Fields) -> bool:
    return event[1] != "ring" or not event[2]


def _event_rows(events: Sequence[Fields], kind: Ints, t: Floats, place: Ints) -> Floats:
    """(E, 20) rows of all events with what they hold besides results."""
    rows = np.tile(_DEFAULTS, (len(events), 1))
    rows[:, STEP_AT["event"]], rows[:, STEP_AT["t_yr"]] = place, t
    at = np.flatnonzero(kind == _CLEANING)
    if at.size:
        columns = [STEP_AT[name] for name in ("cleaning", "share", "wet")]
        values = [(CLEANING_AT[events[i][1]], *events[i][2:]) for i in at.tolist()]
        rows[np.ix_(at, np.array(columns))] = values
    at = np.flatnonzero(kind == _SOURCE)
    rows[at, STEP_AT["source"]] = [SOURCE_AT[events[i][1]] for i in at.tolist()]
    return rows


def _put_rounds(rows: Floats, rounds: _Rounds, same_spots: Ints) -> Floats:
    """Write means and squares into the rows of the rounds; (S, 3) what `StepTable.spots` holds."""
    first = np.concatenate([[0], np.cumsum(rounds.n)[:-1]])
    mean = np.add.reduceat(rounds.logs, first) / rounds.n
    away = rounds.logs - np.repeat(mean, rounds.n)
    fixed = same_spots[rounds.history] > 0
    df, spots, left = rounds.n - 1.0, np.zeros((same_spots.size, 3)), away
    if fixed.any():
        spots, left = _contrasts(rounds, same_spots, away)
    ss = np.add.reduceat(left**2, first)
    opens = np.concatenate([[True], rounds.history[1:] != rounds.history[:-1]])
    if fixed.any():
        whole = np.bincount(rounds.history, ss, minlength=same_spots.size)
        ss = np.where(fixed, np.where(opens, whole[rounds.history], 0.0), ss)
        count = spots[rounds.history, 0]
        df = np.where(fixed, np.where(opens, df * (count - 1.0), 0.0), df)
    values: dict[str, Any] = {
        "code": EXACT,
        "y": mean,
        "inv_n": 1.0 / rounds.n,
        "named": fixed,
        "day": 1.0,
        "method": 0.0,
    }
    values |= {"location_slot": fixed - 1.0, "n": rounds.n, "df": df, "ss": ss}
    for name, value in values.items():
        rows[rounds.event, STEP_AT[name]] = value
    return spots


def _contrasts(rounds: _Rounds, same_spots: Ints, away: Floats) -> tuple[Floats, Floats]:
    """(S, 3) as StepTable.spots, and what is left of the results when the effects of fixed spots are taken off."""
    of_test = np.repeat(rounds.history, rounds.n)
    first = np.repeat(np.concatenate([[0], np.cumsum(rounds.n)[:-1]]), rounds.n)
    base = np.concatenate([[0], np.cumsum(same_spots)])
    fixed = same_spots[of_test] > 0
    spot = (base[of_test] + np.arange(away.size) - first)[fixed]
    count = np.bincount(rounds.history, minlength=same_spots.size).astype(float)
    owner = np.repeat(np.arange(same_spots.size), same_spots)
    effect = np.bincount(spot, away[fixed], minlength=owner.size) / count[owner]
    between = count * np.bincount(owner, effect**2, minlength=same_spots.size)
    left = away.copy()
    left[fixed] -= effect[spot]
    has = same_spots > 0
    return np.stack([count * has, np.maximum(same_spots - 1.0, 0.0), between * has], axis=1), left


def lay_out(histories: Sequence[SurfaceHistory]) -> Bulk:
    """The usual ones among histories, unchecked but for what makes them usual."""
    size = len(histories)
    events: list[Fields] = list(chain.from_iterable(h.events for h in histories))
    counts = np.fromiter((len(h.events) for h in histories), np.int64, size)
    history = np.repeat(np.arange(size), counts)
    place = np.arange(len(events)) - np.repeat(np.cumsum(counts) - counts, counts)
    kind = np.fromiter(map(_KIND.get, map(type, events), repeat(_OTHER)), np.int64, len(events))
    t = np.fromiter(map(itemgetter(0), events), float, len(events))
    odd = _any_of(history, _odd_events(events, kind, t, history), size)
    at = np.flatnonzero(kind == _ROUND)
    tests_of = [events[i][2] for i in at.tolist()]
    n = np.fromiter(map(len, tests_of), np.int64, at.size)
    tests = list(chain.from_iterable(tests_of))
    rates, bounds, weights = (map(itemgetter(field), tests) for field in (0, 1, 3))
    rate = np.fromiter(rates, float, len(tests))
    plain, alike = (
        np.fromiter(map(eq, values, repeat(usual)), bool, rate.size)
        for values, usual in ((bounds, "="), (weights, 1.0))
    )
    unusual = ~(np.isfinite(rate) & (rate >= priors.SEALED_MM_H) & plain & alike)
    odd |= _any_of(np.repeat(history[at], n), unusual, size)
    spots = np.fromiter((_same_spots(h) for h in histories), np.int64, size)
    usual = ~odd & (spots >= 0)
    keep = usual[history]
    rows = _event_rows([e for e, k in zip(events, keep, strict=True) if k], kind[keep], t[keep], place[keep])
    mine = keep[at]
    new_at = np.cumsum(keep) - 1
    table = np.zeros((size, 3))
    if mine.any():
        rounds = _Rounds(history[at[mine]], new_at[at[mine]], n[mine], np.log(rate[np.repeat(mine, n)]))
        table = _put_rounds(rows, rounds, np.where(usual, spots, 0))
    return Bulk(usual, rows, table, np.where(usual, spots, 0))


def _none_of(histories: Sequence[SurfaceHistory]) -> Bulk:
    """None of a few histories: to lay out one at a time is quicker than to set up arrays."""
    n = len(histories)
    return Bulk(np.zeros(n, dtype=bool), np.zeros((0, 20)), np.zeros((n, 3)), np.zeros(n, dtype=np.int64))


def _join(bulk: Bulk, laid: dict[int, Laid], counts: Ints) -> tuple[Floats, Ints]:
    """Rows of all histories in order, and where each begins."""
    for i, one in laid.items():
        counts[i] = len(one.steps)
    first = np.concatenate([[0], np.cumsum(counts)])
    if not laid:
        return bulk.rows, first
    rows = np.empty((int(first[-1]), len(Step._fields)))
    usual = np.repeat(bulk.usual, counts)
    rows[usual] = bulk.rows
    steps = chain.from_iterable(laid[i].steps for i in sorted(laid))
    flat = np.fromiter(chain.from_iterable(steps), float, int((~usual).sum()) * len(Step._fields))
    rows[~usual] = flat.reshape(-1, len(Step._fields))
    return rows, first


def flatten(histories: Sequence[SurfaceHistory]) -> StepTable:
    """Check every history and lay all of them out as one flat table.

    Raises ValueError naming the surface, the event and the value that cannot be.
    """
    for at, history in enumerate(histories):
        conditions = history.conditions
        known = history.surface_type in SURFACE_AT and conditions.traffic in (0, 1, 2)
        if not (known and 0.0 <= conditions.run_on_ratio < np.inf):
            check_history(history, at)
    bulk = lay_out(histories) if len(histories) > FEW else _none_of(histories)
    laid = {}
    for at in np.flatnonzero(~bulk.usual).tolist():
        check_history(histories[at], at)
        laid[at] = history_steps(histories[at])
    rows, first = _join(bulk, laid, np.fromiter((len(h.events) for h in histories), np.int64, len(histories)))
    offset_var: list[tuple[float, ...]] = [(-1.0 / n,) if n else () for n in bulk.same_spots.tolist()]
    for at, one in laid.items():
        offset_var[at], bulk.spots[at] = one.offset_var, one.spots
    return StepTable(
        np.array([SURFACE_AT[h.surface_type] for h in histories], dtype=np.int64),
        np.array([conditions_row(h.conditions) for h in histories], dtype=float).reshape(len(histories), 5),
        first,
        rows,
        offset_var,
        bulk.spots,
    )
