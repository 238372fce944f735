"""Looks back: where each round fell in the forecast made before it, and what each cleaning gave."""

from __future__ import annotations

from math import exp
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .coefficients import move_of
from .decline import Passage
from .filtering import Smoothed, advance, all_reads
from .mixture import Mixture, probability_below, quantiles, rates_at, to_estimate
from .packing import ABOVE, BELOW, EXACT, NO_READING, Floats, Ints
from .trajectory import Run
from .types import CleaningEvent, Estimate, RoundEvent, SurfaceHistory

Flags = NDArray[np.bool_]

MEASURED_WITHIN_YR = 1.0  # rounds further from a cleaning than this show the decline, not the cleaning


class RoundCheck(NamedTuple):
    """One past test round against the forecast made just before it.

    event: its place in the history; n_tests: tests in it
    measured_mm_h: geometric mean of the results, inequalities counted at their bound
    expected_mm_h: what that round was expected to show, by its own test method
    pit_lo, pit_hi: chance of a result below the one found; equal for readings, a range for inequalities.
        Over a portfolio these must be uniform between 0 and 1.
    """

    event: int
    t_yr: float
    n_tests: int
    measured_mm_h: float
    expected_mm_h: Estimate
    pit_lo: float
    pit_hi: float


class CleaningGain(NamedTuple):
    """What one past cleaning gave.

    measured_factor: rate after over rate before, from the nearest rounds by one test method with no other
        cleaning between, a year from it at most; None without tests on both sides
    before_yr, after_yr: dates of those rounds
    factor: the model's estimate of the rate just after over the rate just before, given all tests
    """

    event: int
    t_yr: float
    method: str
    measured_factor: float | None
    before_yr: float | None
    after_yr: float | None
    factor: Estimate


class Expected(NamedTuple):
    """Log mean of a round: expected mean and sd (C,), the value found, and the kinds of reading in it."""

    mean: Floats
    sd: Floats
    found: float
    codes: frozenset[int]


class ExpectedRounds(NamedTuple):
    """Log means of R rounds, before any reading of each was seen: events (R,), expected means and sds (R, C).

    found: (R,) the values that came; below, above: (R,) whether there are bounds of either kind in it
    """

    event: Ints
    mixture: Mixture
    found: Floats
    below: Flags
    above: Flags


def expected_rounds(run: Run) -> ExpectedRounds:
    """Distribution of the mean of each round's readings, in the order taken in; a test counts as a test."""
    block, c, f = run.block, run.coefficients, run.filtered
    steps = np.flatnonzero(block.code[:, 0] != NO_READING)
    events, code = block.event[steps, 0], block.code[steps, 0]
    opens = np.flatnonzero(np.diff(events, prepend=-1.0))
    if not opens.size:
        none, nobody = np.zeros((0, c.mean0.shape[1])), np.zeros(0, dtype=bool)
        return ExpectedRounds(events[opens], Mixture(none, none), none[:, 0], nobody, nobody)
    counts = 1.0 / block.inv_n[steps, 0]
    weights = counts / np.repeat(np.add.reduceat(counts, opens), np.diff(np.append(opens, steps.size)))
    first = steps[opens]
    reads = np.add.reduceat(weights[:, None] * all_reads(block)[steps, :, 0], opens)[..., None]
    level = (reads * f.before_mean[first]).sum(1)
    across = (f.before_cov[first] * reads[:, None]).sum(2)
    var = (across * reads).sum(1) + np.add.reduceat(weights[:, None] ** 2 * c.reading_var[steps], opens)
    return ExpectedRounds(
        events[opens],
        Mixture(level + block.y[first] - c.ring_y[first], np.sqrt(var)),
        np.add.reduceat(weights * block.y[steps, 0], opens),
        np.logical_or.reduceat(code == BELOW, opens),
        np.logical_or.reduceat(code == ABOVE, opens),
    )


def expected_round(run: Run, at: int) -> Expected:
    """What was expected of the round that is event at of its history."""
    every = expected_rounds(run)
    i = int(np.flatnonzero(every.event == at)[0])
    codes = run.block.code[run.block.event[:, 0] == at, 0]
    return Expected(
        every.mixture.mean[i], every.mixture.sd[i], float(every.found[i]), frozenset(codes.tolist())
    )


def checks_of(
    expected: ExpectedRounds, history: SurfaceHistory, log_quantiles: Floats
) -> tuple[RoundCheck, ...]:
    """One check a past test round, in order of the history; log_quantiles: (R, 5) of what was expected."""
    chance, rates = probability_below(expected.found, *expected.mixture), rates_at(log_quantiles)
    lowest, highest = np.where(expected.below, 0.0, chance), np.where(expected.above, 1.0, chance)
    checks = []
    for i in np.argsort(expected.event).tolist():
        at = int(expected.event[i])
        event = history.events[at]
        assert isinstance(event, RoundEvent)  # nothing else has readings
        checks.append(
            RoundCheck(
                at,
                event.t_yr,
                len(event.tests),
                exp(expected.found[i]),
                to_estimate(rates[i]),
                float(lowest[i]),
                float(highest[i]),
            )
        )
    return tuple(checks)


def check_rounds(run: Run, history: SurfaceHistory) -> tuple[RoundCheck, ...]:
    """One check a past test round, in order of the history."""
    expected = expected_rounds(run)
    return checks_of(expected, history, quantiles(*expected.mixture))


def _side(history: SurfaceHistory, at: int, places: range) -> list[int]:
    """Rounds near a cleaning along places, up to the next cleaning."""
    found = []
    for i in places:
        event = history.events[i]
        if isinstance(event, CleaningEvent) or abs(event.t_yr - history.events[at].t_yr) > MEASURED_WITHIN_YR:
            break
        if isinstance(event, RoundEvent):
            found.append(i)
    return found


def _neighbours(history: SurfaceHistory, at: int) -> tuple[int, int] | None:
    """Nearest rounds before and after a cleaning by one test method, with no other cleaning between, if any."""
    before = _side(history, at, range(at - 1, -1, -1))
    after = _side(history, at, range(at + 1, len(history.events)))
    method = {i: event.method for i, event in enumerate(history.events) if isinstance(event, RoundEvent)}
    pairs = [(a - b, b, a) for b in before for a in after if method[a] == method[b]]
    return min(pairs)[1:] if pairs else None


def _log_mean(run: Run, at: int) -> float | None:
    """Mean log rate of a round of readings; None with an inequality in it, which has no value to compare."""
    steps = np.flatnonzero(run.block.event[:, 0] == at)
    if (run.block.code[steps, 0] != EXACT).any():
        return None
    return float(np.average(run.block.y[steps, 0], weights=1.0 / run.block.inv_n[steps, 0]))


class _Lift(NamedTuple):
    """What K cleaning steps do, (K, C) each: x rises by regain (b - x) + N(shift, noise), b drawn anew where renewed.

    scale, both: what a renewal leaves of b's covariances, and the covariance of x and b that it adds
    """

    regain: Floats
    noise: Floats
    renewed: Flags
    shift: Floats
    scale: Floats
    both: Floats


def _lifts(run: Run, steps: Ints) -> _Lift:
    c = run.coefficients
    regain = c.regain[steps]
    noise = c.move.noise[steps] - (1.0 - regain) ** 2 * c.span.noise[steps]
    none, renewed = np.zeros_like(regain), np.zeros((steps.size, 1), dtype=bool)
    lift = _Lift(regain, noise, renewed, none, none + 1.0, none.copy())
    for k, step in enumerate(steps.tolist()):
        change = c.changes[step]
        if change.columns.size:
            lift.renewed[k] = True
            lift.regain[k], lift.noise[k] = 1.0 - change.scale[0], change.cov[0, 0]
            lift.shift[k], lift.scale[k], lift.both[k] = change.shift[0], change.scale[1], change.cov[0, 1]
    return lift


def cleaning_jumps(run: Run, later: Smoothed) -> Mixture:
    """Mean and sd (K, C) of what each cleaning step added to the log rate, given all tests, in the order done.

    The jump is r (b - x) + noise with x and b as they were just before; where the layer is renewed b is drawn anew.
    """
    c, f, steps = run.coefficients, run.filtered, np.flatnonzero(run.block.cleaning[:, 0] >= 0)
    mean, cov = np.moveaxis(f.after_mean[steps], 0, -2), np.moveaxis(f.after_cov[steps], 0, -2)
    still = np.zeros((steps.size, mean.shape[-1]))
    advance(mean, cov, move_of(Passage(*(field[steps] for field in c.span)), still, still))
    lift = _lifts(run, steps)
    weights = np.zeros_like(mean)
    weights[0], weights[1] = -lift.regain, np.where(lift.renewed, 0.0, lift.regain)
    jump = (weights * mean).sum(0) + lift.shift
    across = (cov * weights).sum(1)
    jump_var = (across * weights).sum(0) + lift.noise
    across[0] += jump_var
    across[1] = lift.scale * across[1] + lift.both
    along = np.moveaxis(across, 0, 1)
    jump += (along * later.after_r[steps + 1]).sum(1)
    told = ((later.after_n[steps + 1] * along[:, None]).sum(2) * along).sum(1)
    return Mixture(jump, np.sqrt(np.maximum(jump_var - told, 0.0)))


def gains_of(run: Run, history: SurfaceHistory, log_quantiles: Floats) -> tuple[CleaningGain, ...]:
    """One gain a past cleaning, in order of the history; log_quantiles: (K, 5) of `cleaning_jumps`."""
    steps = np.flatnonzero(run.block.cleaning[:, 0] >= 0)
    places, factors = run.block.event[steps, 0], np.exp(np.clip(log_quantiles, -700.0, 700.0))
    gains = []
    for i in np.argsort(places).tolist():
        at = int(places[i])
        event = history.events[at]
        assert isinstance(event, CleaningEvent)  # nothing else cleans
        measured = _measured(run, history, at)
        gains.append(CleaningGain(at, event.t_yr, event.method, *measured, to_estimate(factors[i])))
    return tuple(gains)


def measure_gains(run: Run, later: Smoothed, history: SurfaceHistory) -> tuple[CleaningGain, ...]:
    """One gain a past cleaning, in order of the history."""
    return gains_of(run, history, quantiles(*cleaning_jumps(run, later)))


def _measured(run: Run, history: SurfaceHistory, at: int) -> tuple[float | None, float | None, float | None]:
    sides = _neighbours(history, at)
    if sides is None:
        return None, None, None
    before, after = _log_mean(run, sides[0]), _log_mean(run, sides[1])
    if before is None or after is None:
        return None, None, None
    return float(np.exp(after - before)), history.events[sides[0]].t_yr, history.events[sides[1]].t_yr
