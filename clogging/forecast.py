"""What the model says about one surface: today, ahead, behind, and against its kind.

Everything is averaged over draws of the portfolio parameters, so a firm with five surfaces gets the wide ranges
that its few tests deserve.
"""

from __future__ import annotations

from math import isfinite
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr, ndtri

from .checking import check_history
from .decline import Pace
from .fitting import PortfolioFit
from .hindcast import (
    CleaningGain,
    RoundCheck,
    check_rounds,
    checks_of,
    cleaning_jumps,
    expected_rounds,
    gains_of,
)
from .interpolation import crossing
from .mixture import (
    Mixture,
    lower_quantiles,
    probability_below,
    quantiles,
    quantiles_of_all,
    rates_at,
    to_estimate,
)
from .packing import Floats, Ints
from .trajectory import (
    Ahead,
    Run,
    State,
    course_ahead,
    last_state,
    log_rate_behind,
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
    return crossing(t_yr[near].tolist(), score.tolist(), at - near.start, float(ndtri(level)))


def to_curve(t_yr: Floats, log_rates: Floats) -> Curve:
    """Ranges in mm/h at dates (T,) from quantiles (T, 5) of the log rate."""
    lo95, lo80, median, hi80, hi95 = rates_at(log_rates).T
    return Curve(t_yr, median, lo80, hi80, lo95, hi95)


def estimate_at_first(curve: Curve) -> Estimate:
    """The range on the first date of a curve."""
    return Estimate(*(float(values[0]) for values in curve[1:]))


def chance_below(ahead: Ahead, limit_mm_h: float) -> Floats:
    """(..., T) chance of being below the limit."""
    limits = np.full(ahead.falling.mean.shape[:-1], np.log(limit_mm_h))
    return np.maximum(probability_below(limits, *ahead.falling), probability_below(limits, *ahead.kept))


class _Past(NamedTuple):
    """Dates (T,) of the past, the steps (T,) before each, and how many of them lie before the last event."""

    t_yr: Floats
    done: Ints
    before: int


def _past_dates(run: Run, now_yr: float, n_dates: int) -> _Past:
    """Even dates from opening to now and both sides of every cleaning."""
    steps = run.block.t[:, 0]
    even = np.linspace(0.0, now_yr, n_dates)
    cleaned = np.flatnonzero(run.block.cleaning[:, 0] >= 0)
    dates = np.concatenate([even, steps[cleaned], steps[cleaned]])
    done = np.concatenate([np.searchsorted(steps, even, side="right"), cleaned, cleaned + 1])
    order = np.lexsort((done, dates))
    done = done[order]
    return _Past(dates[order], done, int((done < steps.size).sum()))


def _percent(loss: Floats) -> Floats:
    """Percent of the rate lost, from a loss of log rate."""
    return -100.0 * np.expm1(-np.clip(loss, -20.0, 700.0))


def yearly_loss(state: State, pace: Pace) -> Mixture:
    """Loss of log rate (1, C) over the coming year, with nothing done."""
    weights = -weights_ahead(pace, np.ones(1), state.mean)[0][:, 0]
    weights[0] += 1.0
    mean = (weights * state.mean).sum(0)
    var = ((weights[:, None] * state.cov).sum(0) * weights).sum(0)
    return Mixture(mean[None], np.sqrt(np.maximum(var, 0.0))[None])


def percent_lost(loss: Floats) -> Estimate:
    """Percent of the rate that a loss takes, from quantiles (1, 5) of `yearly_loss`."""
    return to_estimate(_percent(loss[0]))


def _place(run: Run, now: State, usual: Floats) -> float:
    """Share of surfaces whose declines are usual (C,), give or take the scatter between like ones, that are slower."""
    spread = np.sqrt(np.maximum(now.cov[2, 2] + run.params.tau_lam**2, 1e-24))
    return float(ndtr((now.mean[2] - usual) / spread).mean())


def _causes(run: Run, now: State, usual: Floats) -> tuple[RecordedCause, ...]:
    recorded = np.flatnonzero(run.block.z[:, 0])
    if not recorded.size:
        return ()
    added = run.params.beta[recorded] * run.block.z[recorded, :1]
    losses = _percent(quantiles(added, np.zeros_like(added)))
    causes = [
        RecordedCause(CONDITIONS[i], to_estimate(losses[k]), _place(run, now, usual - added[k]))
        for k, i in enumerate(recorded.tolist())
    ]
    return tuple(sorted(causes, key=lambda cause: -cause.added_percent_a_year.median))


class _Quantiles(NamedTuple):
    """Log quantiles (., 5) of everything that a forecast says, found together."""

    ahead: Floats
    behind: Floats
    loss: Floats
    rounds: Floats
    gains: Floats


def _all_quantiles(
    ahead: Ahead, behind: Mixture, loss: Mixture, rounds: Mixture, gains: Mixture
) -> _Quantiles:
    found = _Quantiles(*quantiles_of_all((ahead.falling, behind, loss, rounds, gains)))
    return found._replace(ahead=lower_quantiles(found.ahead, ahead.kept))


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
    dates = np.linspace(now_yr, now_yr + horizon_yr, max(n_future, 2))
    return _told(run, history, dates, limit_mm_h, _past_dates(run, now_yr, n_past))


def _told(
    run: Run, history: SurfaceHistory, dates: Floats, limit_mm_h: float, past: _Past
) -> SurfaceForecast:
    """What a run says at dates (T,), the first of which is now, and at those of the past."""
    known, later = last_state(run), smooth_run(run)
    now, ahead = course_ahead(run, known, np.concatenate([dates, past.t_yr[past.before :]]))
    behind = log_rate_behind(run, later, past.t_yr[: past.before], past.done[: past.before])
    rounds, jumps = expected_rounds(run), cleaning_jumps(run, later)
    found = _all_quantiles(ahead, behind, yearly_loss(now, run.pace), rounds.mixture, jumps)
    curve, since = to_curve(dates, found.ahead[: dates.size]), found.ahead[dates.size :]
    p_below, usual = chance_below(ahead.until(dates.size), limit_mm_h), run.coefficients.mean0[2]
    return SurfaceForecast(
        float(dates[0]),
        limit_mm_h,
        estimate_at_first(curve),
        float(p_below[0]),
        to_curve(past.t_yr, np.concatenate([found.behind, since])),
        curve,
        p_below,
        percent_lost(found.loss),
        _place(run, now, usual),
        _place(run, now, run.usual_lam),
        _causes(run, now, usual),
        checks_of(rounds, history, found.rounds),
        gains_of(run, history, found.gains),
    )


def rounds_in_forecasts(history: SurfaceHistory, fit: PortfolioFit) -> tuple[RoundCheck, ...]:
    """Where each round of a history fell in the forecast that a fit made just before it.

    With a fit that never saw the history, a reading that is odd in itself stands out; one that learned from a few
    surfaces, this one among them, has made room for it. Raises ImpossibleRecordError for a history that cannot be.
    """
    check_history(history)
    return check_rounds(run_surface(history, fit.draws), history)
