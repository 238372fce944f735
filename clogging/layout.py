"""Lays the usual histories out as arrays all at once; `packing` lays out one at a time whatever is unusual.

Usual is: every round by the ring at spots of equal weight, either the same fixed spots in the same order in every
round, or no fixed spots and every result a reading of a surface that is not sealed. Whatever is not, or cannot be, is
left to `packing`, whose steps these must equal.
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
    ABOVE,
    BELOW,
    CLEANING_AT,
    CODE_AT,
    EXACT,
    NO_READING,
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
    """usual: (S,) histories laid out here; by_test: (S,) those of them with bounds, each test of which is a step

    counts: (S,) steps of each; rows: (R, 20) those of the usual, surface after surface; spots: (S, 3) as in StepTable
    """

    usual: Flags
    by_test: Flags
    counts: Ints
    rows: Floats
    spots: Floats
    same_spots: Ints  # (S,) fixed locations of histories whose rounds all test the same ones, else 0


class _Rounds(NamedTuple):
    """Rounds in order: the history and the event of each, tests in it, and all log results."""

    history: Ints
    event: Ints
    n: Ints
    logs: Floats


def _offset_var(same_spots: int, by_test: bool) -> tuple[float, ...]:
    """As in StepTable."""
    if by_test:
        return (-1.0,) * same_spots
    return (-1.0 / same_spots,) if same_spots else ()


def _any_of(history: Ints, flags: Flags, size: int) -> Flags:
    """(S,) whether any of a history's items is marked."""
    marked: Flags = np.bincount(history[flags], minlength=size) > 0
    return marked


def _odd_events(events: Sequence[Fields], kind: Ints, t: Floats, history: Ints) -> Flags:
    """(E,) events that are out of order, share a day with their like, or are not what a usual history holds."""
    follows = np.concatenate([[False], history[1:] == history[:-1]])
    before = np.concatenate([[0.0], t[:-1]])
    alike = np.concatenate([[False], kind[1:] == kind[:-1]])
    odd = ~(np.isfinite(t) & (t >= 0.0)) | (kind == _OTHER)
    odd |= follows & ((t < before) | ((t == before) & alike))
    for which, is_odd in ((_CLEANING, _odd_cleaning), (_SOURCE, _odd_source)):
        at = np.flatnonzero(kind == which)
        odd[at] |= np.array([is_odd(events[i]) for i in at.tolist()], dtype=bool)
    return odd


def _odd_cleaning(event: Fields) -> bool:
    return event[1] not in CLEANING_AT or not 0.0 < event[2] <= 1.0


def _odd_source(event: Fields) -> bool:
    return event[1] not in SOURCE_AT


class _Tests(NamedTuple):
    """Rounds in order, (N,): the history and the event of each and the tests in it; and all tests, (T,).

    round: place of a test's round among the rounds
    """

    history: Ints
    event: Ints
    n: Ints
    round: Ints
    rate: Floats
    code: Ints
    location: NDArray[np.object_]

    @property
    def first(self) -> Ints:
        """(N,) place of each round's first test."""
        return np.cumsum(self.n) - self.n

    def only(self, keep: Flags) -> _Tests:
        """The same of some rounds (N,), their events counted on in `event` as they were."""
        own, at = keep[self.round], np.cumsum(keep) - 1
        rounds = (self.history[keep], self.event[keep], self.n[keep])
        return _Tests(*rounds, at[self.round[own]], self.rate[own], self.code[own], self.location[own])


def _read_rounds(events: Sequence[Fields], at: Ints, history: Ints) -> tuple[_Tests, Flags]:
    """All rounds, events at (N,), and which are not by the ring or hold what cannot be or weighs otherwise."""
    rounds = [events[i] for i in at.tolist()]
    tests_of = [event[2] for event in rounds]
    n = np.fromiter(map(len, tests_of), np.int64, at.size)
    tests: list[Fields] = list(chain.from_iterable(tests_of))
    rate, bound, location, weight = (map(itemgetter(field), tests) for field in range(4))
    read = _Tests(
        history[at],
        at,
        n,
        np.repeat(np.arange(at.size), n),
        np.fromiter(rate, float, len(tests)),
        np.fromiter(map(CODE_AT.get, bound, repeat(NO_READING)), np.int64, len(tests)),
        np.fromiter(location, object, len(tests)),
    )
    alike = np.fromiter(map(eq, weight, repeat(1.0)), bool, len(tests))
    wrong = ~(np.isfinite(read.rate) & (read.rate > 0.0) & (read.code != NO_READING) & alike)
    ring = np.fromiter(map(eq, map(itemgetter(1), rounds), repeat("ring")), bool, at.size)
    return read, ~ring | (n == 0) | _any_of(read.round, wrong, at.size)


def _same_spots(tests: _Tests, size: int) -> Ints:
    """(S,) fixed locations where every round tests the same ones in the same order; 0 without any, -1 otherwise."""
    named = tests.location.astype(bool)
    of_test = tests.history[tests.round]
    follows = np.concatenate([[False], tests.history[1:] == tests.history[:-1]])
    before = np.concatenate([[0], tests.n[:-1]])
    unlike = ~follows | (tests.n != before)
    compared = np.flatnonzero(~unlike[tests.round])
    other = tests.location[compared] != tests.location[compared - before[tests.round[compared]]]
    moved = follows & (unlike | _any_of(tests.round[compared], np.asarray(other, bool), tests.n.size))
    odd = _any_of(of_test, ~named, size) | _any_of(tests.history, moved | (tests.n < 2), size)
    odd |= np.bincount(tests.history, minlength=size) < 2
    spots = np.where(_any_of(of_test, named, size), -1, 0)
    opens = np.flatnonzero(~follows & ~odd[tests.history])
    different = np.array([len(set(names)) for names in _names(tests, opens)], np.int64) == tests.n[opens]
    spots[tests.history[opens[different]]] = tests.n[opens[different]]
    return spots


def _names(tests: _Tests, rounds: Ints) -> list[list[str]]:
    """The locations of some rounds."""
    first, location = tests.first[rounds], tests.location.tolist()
    return [location[i : i + n] for i, n in zip(first.tolist(), tests.n[rounds].tolist(), strict=True)]


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


def _put_tests(rows: Floats, tests: _Tests) -> None:
    """Write every test as a step of its own into the rows that begin at its round's event, as `packing` orders them."""
    opens = np.flatnonzero(np.diff(tests.history, prepend=-1))
    ranks = [np.argsort(np.argsort(names)) for names in _names(tests, opens)]
    base = (np.cumsum(tests.n[opens]) - tests.n[opens])[np.searchsorted(tests.history[opens], tests.history)]
    within = np.arange(tests.rate.size) - tests.first[tests.round]
    slot = np.concatenate(ranks)[base[tests.round] + within]
    sealed = (tests.rate < priors.SEALED_MM_H) & (tests.code != ABOVE)
    code = np.where(sealed, BELOW, tests.code)
    y = np.log(np.where(sealed, priors.SEALED_MM_H, tests.rate))
    order = np.lexsort((slot, np.where(code == EXACT, 0.0, y), code, tests.round))
    at = tests.event[tests.round] + within
    values: dict[str, Any] = {"code": code[order], "y": y[order], "location_slot": slot[order]}
    values |= {"inv_n": 1.0, "named": 1.0, "reset": within == 0, "uses_day": 1.0, "method": 0.0, "n": 1.0}
    for name, value in values.items():
        rows[at, STEP_AT[name]] = value


def lay_out(histories: Sequence[SurfaceHistory]) -> Bulk:
    """The usual ones among histories, unchecked but for what makes them usual."""
    size = len(histories)
    events: list[Fields] = list(chain.from_iterable(h.events for h in histories))
    counts = np.fromiter((len(h.events) for h in histories), np.int64, size)
    history = np.repeat(np.arange(size), counts)
    kind = np.fromiter(map(_KIND.get, map(type, events), repeat(_OTHER)), np.int64, len(events))
    t = np.fromiter(map(itemgetter(0), events), float, len(events))
    tests, odd_rounds = _read_rounds(events, np.flatnonzero(kind == _ROUND), history)
    odd = _any_of(history, _odd_events(events, kind, t, history), size)
    odd |= _any_of(tests.history, odd_rounds, size)
    bounded = (tests.code != EXACT) | (tests.rate < priors.SEALED_MM_H)
    same, by_test = _same_spots(tests, size), _any_of(tests.history[tests.round], bounded, size)
    usual = ~odd & (same >= by_test)
    same[~usual] = 0
    keep, steps = usual[history], np.ones(len(events), np.int64)
    steps[tests.event] = np.where(by_test[tests.history], tests.n, 1)
    place = np.arange(len(events)) - np.repeat(np.cumsum(counts) - counts, counts)
    rows = _event_rows([e for e, k in zip(events, keep, strict=True) if k], kind[keep], t[keep], place[keep])
    rows = np.repeat(rows, steps[keep], axis=0)
    tests = tests._replace(event=(np.cumsum(steps * keep) - steps)[tests.event])
    spots = _put_results(rows, tests, same, usual, by_test)
    return Bulk(usual, by_test, np.bincount(history, steps, size).astype(np.int64), rows, spots, same)


def _put_results(rows: Floats, tests: _Tests, same_spots: Ints, usual: Flags, by_test: Flags) -> Floats:
    """Write what usual histories found into their rows, by round or by test; (S, 3) what `StepTable.spots` holds."""
    spots, apart = np.zeros((same_spots.size, 3)), tests.only((usual & by_test)[tests.history])
    whole = tests.only((usual & ~by_test)[tests.history])
    if apart.n.size:
        _put_tests(rows, apart)
    if whole.n.size:
        rounds = _Rounds(whole.history, whole.event, whole.n, np.log(whole.rate))
        spots = _put_rounds(rows, rounds, np.where(by_test, 0, same_spots))
    return spots


def _none_of(histories: Sequence[SurfaceHistory]) -> Bulk:
    """None of a few histories: to lay out one at a time is quicker than to set up arrays."""
    n = len(histories)
    nobody, none = np.zeros(n, dtype=bool), np.zeros(n, dtype=np.int64)
    return Bulk(nobody, nobody, none.copy(), np.zeros((0, 20)), np.zeros((n, 3)), none)


def _join(bulk: Bulk, laid: dict[int, Laid]) -> tuple[Floats, Ints]:
    """Rows of all histories in order, and where each begins."""
    counts = bulk.counts.copy()
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
    rows, first = _join(bulk, laid)
    offset_var = [
        _offset_var(n, each) for n, each in zip(bulk.same_spots.tolist(), bulk.by_test.tolist(), strict=True)
    ]
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
