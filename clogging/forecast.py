"""What the model says about one surface: today, ahead, behind, and against its kind.

Everything is averaged over draws of the portfolio parameters, so a firm with five surfaces gets the wide ranges
that its few tests deserve.
"""

from __future__ import annotations

from math import isfinite
from typing import NamedTuple

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.special import ndtr, ndtri

from .checking import check_history
from .decline import Pace
from .filtering import Smoothed
from .fitting import PortfolioFit
from .hindcast import CleaningGain, RoundCheck, check_rounds, measure_gains
from .mixture import probability_below, quantiles, rate_estimates, to_estimate
from .packing import Floats, Ints
from .trajectory import (
    Run,
    State,
    last_state,
    log_rate_ahead,
    log_rate_at_most,
    log_rate_behind,
    move,
    run_surface,
    smooth_run,
    weights_ahead,
)
from .types import CONDITIONS, Estimate, SurfaceHistory


class Curve(NamedTuple):
    """Rate over time, all (T,): dates in years since opening, the rest mm/h. A cleaning has two points on one date."""

    t_yr: Floats
    median: Floats
    lo80: Floats
    hi80: Floats
    lo95: Floats
    hi95: Floats


class RecordedCause(NamedTuple):
    """A recorded condition that speeds up clogging.

    condition: of types.CONDITIONS; added_percent_a_year: what it adds to the yearly loss of an open surface
    percentile_without: share of surfaces alike but for this condition that lose their rate more slowly [0-1]
    """

    condition: str
    added_percent_a_year: Estimate
    percentile_without: float


class SurfaceForecast(NamedTuple):
    """What is known about one surface at now_yr, if nothing is done to it from then on.

    rate_now_mm_h: areal geometric mean rate today; p_below_now: chance that it is below the limit
    past, future: curves from opening to now (given all tests) and from now to the horizon
    p_below: (T,) chance of being below the limit at each date of `future`
    decline_percent_a_year: loss over the coming year, percent of today's rate; below 0 it recovers
    decline_percentile: share of surfaces of the same type under the same conditions that lose their rate
        more slowly [0-1]; 0.5 when nothing is known about this one, 0.95 and more is the worst tail
    decline_percentile_plain: the same among surfaces of the type on which nothing is recorded, so that a
        recorded cause does not explain itself away
    recorded_causes: conditions recorded on this surface, the one that adds most first
    rounds: where each past round fell in the forecast made just before it
    gains: what each past cleaning gave
    """

    now_yr: float
    limit_mm_h: float
    rate_now_mm_h: Estimate
    p_below_now: float
    past: Curve
    future: Curve
    p_below: Floats
    decline_percent_a_year: Estimate
    decline_percentile: float
    decline_percentile_plain: float
    recorded_causes: tuple[RecordedCause, ...]
    rounds: tuple[RoundCheck, ...]
    gains: tuple[CleaningGain, ...]

    def first_reach_yr(self, level: float) -> float | None:
        """First date, in years since opening, at which the chance of being below the limit reaches a level.

        now_yr when it has already; None when it does not within the horizon. Raises ValueError for a level
        that is not between 0 and 1.
        """
        return first_reach(self.future.t_yr, self.p_below, level)


def check_dates(history: SurfaceHistory, t_yr: float, limit_mm_h: float, horizon_yr: float) -> None:
    """Raise ImpossibleRecordError for a history that cannot be, ValueError when a forecast cannot start at t_yr."""
    check_history(history)
    last = history.events[-1].t_yr if history.events else 0.0
    if not (isfinite(t_yr) and t_yr >= last):
        raise ValueError(f"A forecast starts at or after the last event ({last} yr), got {t_yr} yr.")
    if not (isfinite(limit_mm_h) and limit_mm_h > 0.0):
        raise ValueError(f"limit_mm_h must be above 0, got {limit_mm_h}.")
    if not (isfinite(horizon_yr) and horizon_yr > 0.0):
        raise ValueError(f"horizon_yr must be above 0, got {horizon_yr}.")


def first_reach(t_yr: Floats, chance: Floats, level: float) -> float | None:
    """First date at which the chance reaches level, by a monotone cubic on the normal scale; None if never.

    t_yr: (T,) rising dates; chance: (T,). A chance moves on the normal scale nearly as the rate does on the log scale:
    smoothly, so that a cubic holds between dates far apart. Raises ValueError for a level not between 0 and 1.
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"A level is a chance above 0 and below 1, got {level}.")
    reached = np.flatnonzero(chance >= level)
    if not reached.size:
        return None
    at = int(reached[0])
    if at == 0:
        return float(t_yr[0])
    near = slice(max(at - 3, 0), at + 3)
    score = ndtri(np.clip(chance[near], 1e-15, 1.0 - 1e-15))
    crossings = PchipInterpolator(t_yr[near], score).solve(float(ndtri(level)), extrapolate=False)
    within = crossings[(crossings >= t_yr[at - 1]) & (crossings <= t_yr[at])]
    return float(within[0] if within.size else t_yr[at])


def to_curve(t_yr: Floats, mean: Floats, sd: Floats) -> Curve:
    """Ranges in mm/h at dates (T,) from log means and sds (T, C)."""
    lo95, lo80, median, hi80, hi95 = rate_estimates(mean, sd).T
    return Curve(t_yr, median, lo80, hi80, lo95, hi95)


def estimate_at_first(curve: Curve) -> Estimate:
    """The range on the first date of a curve."""
    return Estimate(*(float(values[0]) for values in curve[1:]))


def course_ahead(run: Run, known: State, t_yr: Floats, limit_mm_h: float) -> tuple[Curve, Floats]:
    """Ranges at dates (T,) from the last thing known of a surface, and the chance (T,) of being below the limit.

    known: the state on the day from which nothing more is known, which may lie after the run's last event.
    """
    limits = np.full(t_yr.size, np.log(limit_mm_h))
    falling = log_rate_ahead(run, known, t_yr)
    kept = log_rate_at_most(run, known, t_yr, falling)
    lo95, lo80, median, hi80, hi95 = np.minimum(rate_estimates(*falling[:2]), rate_estimates(*kept)).T
    p_below = np.maximum(probability_below(limits, *falling[:2]), probability_below(limits, *kept))
    return Curve(t_yr, median, lo80, hi80, lo95, hi95), p_below


def _past_dates(run: Run, now_yr: float, n_dates: int) -> tuple[Floats, Ints]:
    """Even dates from opening to now and both sides of every cleaning, with the number of steps before each."""
    steps = run.block.t[:, 0]
    even = np.linspace(0.0, now_yr, n_dates)
    cleaned = np.flatnonzero(run.block.cleaning[:, 0] >= 0)
    dates = np.concatenate([even, steps[cleaned], steps[cleaned]])
    done = np.concatenate([np.searchsorted(steps, even, side="right"), cleaned, cleaned + 1])
    order = np.lexsort((done, dates))
    return dates[order], done[order]


def _past_curve(run: Run, later: Smoothed, now_yr: float, n_dates: int) -> Curve:
    """Given all tests up to the last event; from there on what is known ahead of it."""
    dates, done = _past_dates(run, now_yr, n_dates)
    behind = to_curve(dates, *log_rate_behind(run, later, dates, done))
    since = done == len(run.block.t)
    for held, ahead in zip(
        behind[1:], course_ahead(run, last_state(run), dates[since], 1.0)[0][1:], strict=True
    ):
        held[since] = ahead
    return behind


def _percent(loss: Floats) -> Floats:
    """Percent of the rate lost, from a loss of log rate."""
    return -100.0 * np.expm1(-np.clip(loss, -20.0, 700.0))


def decline_percent(state: State, pace: Pace) -> Estimate:
    """Percent of the rate that the coming year takes, with nothing done."""
    weights = -weights_ahead(pace, np.ones(1), state.mean)[0][:, 0]
    weights[0] += 1.0
    mean = (weights * state.mean).sum(0)
    var = ((weights[:, None] * state.cov).sum(0) * weights).sum(0)
    return to_estimate(_percent(quantiles(mean[None], np.sqrt(np.maximum(var, 0.0))[None])[0]))


def _place(run: Run, now: State, usual: Floats) -> float:
    """Share of surfaces whose declines are usual (C,), give or take the scatter between like ones, that are slower."""
    spread = np.sqrt(np.maximum(now.cov[2, 2] + run.params.tau_lam**2, 1e-24))
    return float(ndtr((now.mean[2] - usual) / spread).mean())


def _causes(run: Run, now: State, usual: Floats) -> tuple[RecordedCause, ...]:
    causes = []
    for i in np.flatnonzero(run.block.z[:, 0]):
        added = run.params.beta[i] * run.block.z[i, 0]
        loss = to_estimate(_percent(quantiles(added[None], np.zeros((1, added.size)))[0]))
        causes.append(RecordedCause(CONDITIONS[i], loss, _place(run, now, usual - added)))
    return tuple(sorted(causes, key=lambda cause: -cause.added_percent_a_year.median))


def forecast_surface(
    history: SurfaceHistory,
    fit: PortfolioFit,
    *,
    now_yr: float,
    limit_mm_h: float,
    horizon_yr: float = 10.0,
    n_future: int = 61,
    n_past: int = 41,
) -> SurfaceForecast:
    """Forecast one surface as if nothing were done to it after now_yr.

    now_yr: years since opening, not before the last event; limit_mm_h: rate below which it must be cleaned
    n_future, n_past: dates on the two curves. Raises ImpossibleRecordError for a history that cannot be,
    ValueError for dates that cannot be.
    """
    check_dates(history, now_yr, limit_mm_h, horizon_yr)
    run = run_surface(history, fit.draws)
    known = last_state(run)
    now = move(run, known, now_yr)
    dates = np.linspace(now_yr, now_yr + horizon_yr, max(n_future, 2))
    future, p_below = course_ahead(run, known, dates, limit_mm_h)
    usual = run.coefficients.mean0[2]
    later = smooth_run(run)
    return SurfaceForecast(
        now_yr,
        limit_mm_h,
        estimate_at_first(future),
        float(p_below[0]),
        _past_curve(run, later, now_yr, n_past),
        future,
        p_below,
        decline_percent(now, run.pace),
        _place(run, now, usual),
        _place(run, now, run.usual_lam),
        _causes(run, now, usual),
        check_rounds(run, history),
        measure_gains(run, later, history),
    )


def rounds_in_forecasts(history: SurfaceHistory, fit: PortfolioFit) -> tuple[RoundCheck, ...]:
    """Where each round of a history fell in the forecast that a fit made just before it.

    With a fit that never saw the history, a reading that is odd in itself stands out; one that learned from a few
    surfaces, this one among them, has made room for it. Raises ImpossibleRecordError for a history that cannot be.
    """
    check_history(history)
    return check_rounds(run_surface(history, fit.draws), history)
