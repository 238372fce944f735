"""Looks back: where each round fell in the forecast made before it, and what each cleaning gave."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .coefficients import move_of
from .decline import Passage
from .filtering import Smoothed, advance, reads_of
from .mixture import probability_below, quantiles, rate_estimates, to_estimate
from .packing import ABOVE, BELOW, EXACT, Floats
from .trajectory import Run
from .types import CleaningEvent, Estimate, RoundEvent, SurfaceHistory

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


def expected_round(run: Run, at: int) -> Expected:
    """Distribution of the mean of a round's readings, before any of them was seen; a test counts as a test."""
    block, c, f = run.block, run.coefficients, run.filtered
    steps = np.flatnonzero(block.event[:, 0] == at)
    first = steps[0]
    counts = 1.0 / block.inv_n[steps, 0]
    weights = counts / counts.sum()
    mean, cov = f.before_mean[first], f.before_cov[first]
    reads = sum(weight * reads_of(block, int(j)) for weight, j in zip(weights, steps, strict=True))
    level = (reads * mean).sum(0)
    var = ((cov * reads).sum(1) * reads).sum(0) + (weights[:, None] ** 2 * c.reading_var[steps]).sum(0)
    found = float(weights @ block.y[steps, 0])
    return Expected(
        level + block.y[first] - c.ring_y[first],
        np.sqrt(var),
        found,
        frozenset(block.code[steps, 0].tolist()),
    )


def check_rounds(run: Run, history: SurfaceHistory) -> tuple[RoundCheck, ...]:
    """One check a past test round, in order of the history."""
    rounds = [(at, event) for at, event in enumerate(history.events) if isinstance(event, RoundEvent)]
    if not rounds:
        return ()
    expected = [expected_round(run, at) for at, _ in rounds]
    mean, sd = np.stack([e.mean for e in expected]), np.stack([e.sd for e in expected])
    below = probability_below([e.found for e in expected], mean, sd)
    rates = rate_estimates(mean, sd)
    return tuple(
        RoundCheck(
            at,
            event.t_yr,
            len(event.tests),
            float(np.exp(e.found)),
            to_estimate(rates[i]),
            0.0 if BELOW in e.codes else float(below[i]),
            1.0 if ABOVE in e.codes else float(below[i]),
        )
        for i, ((at, event), e) in enumerate(zip(rounds, expected, strict=True))
    )


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


def _jump(run: Run, later: Smoothed, step: int) -> tuple[Floats, Floats]:
    """Mean and sd (C,) of what a cleaning step added to the log rate, given all tests.

    The jump is r (b - x) + noise with x and b as they were just before; where the layer is renewed b is drawn anew.
    """
    c, f = run.coefficients, run.filtered
    mean, cov = f.after_mean[step].copy(), f.after_cov[step].copy()
    advance(mean, cov, move_of(Passage(*(field[step] for field in c.span)), *np.zeros((2, mean.shape[1]))))
    change = c.changes[step]
    renewed = change.columns.size > 0
    regain = 1.0 - change.scale[0] if renewed else c.regain[step]
    noise = change.cov[0, 0] if renewed else c.move.noise[step] - (1.0 - regain) ** 2 * c.span.noise[step]
    weights = np.zeros_like(mean)
    weights[0], weights[1] = -regain, 0.0 if renewed else regain
    jump = (weights * mean).sum(0) + (change.shift[0] if renewed else 0.0)
    across = (cov * weights).sum(1)
    jump_var = (across * weights).sum(0) + noise
    across[0] += jump_var
    if renewed:
        across[1] = change.scale[1] * across[1] + change.cov[0, 1]
    r, n = later.after_r[step + 1], later.after_n[step + 1]
    jump = jump + (across * r).sum(0)
    return jump, np.sqrt(np.maximum(jump_var - ((n * across).sum(1) * across).sum(0), 0.0))


def measure_gains(run: Run, later: Smoothed, history: SurfaceHistory) -> tuple[CleaningGain, ...]:
    """One gain a past cleaning, in order of the history."""
    cleanings = [(at, event) for at, event in enumerate(history.events) if isinstance(event, CleaningEvent)]
    if not cleanings:
        return ()
    gains = []
    for at, event in cleanings:
        step = int(np.flatnonzero(run.block.event[:, 0] == at)[0])
        jump, sd = _jump(run, later, step)
        factor = to_estimate(np.exp(np.clip(quantiles(jump, sd), -700.0, 700.0)))
        gains.append(CleaningGain(at, event.t_yr, event.method, *_measured(run, history, at), factor))
    return tuple(gains)


def _measured(run: Run, history: SurfaceHistory, at: int) -> tuple[float | None, float | None, float | None]:
    sides = _neighbours(history, at)
    if sides is None:
        return None, None, None
    before, after = _log_mean(run, sides[0]), _log_mean(run, sides[1])
    if before is None or after is None:
        return None, None, None
    return float(np.exp(after - before)), history.events[sides[0]].t_yr, history.events[sides[1]].t_yr
