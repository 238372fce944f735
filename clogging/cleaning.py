"""What a cleaning would give this surface, and what each method has given the portfolio."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import scipy  # stats is loaded when first named
from scipy.special import ndtri

from . import priors
from .decline import Pace
from .fitting import PortfolioFit
from .forecast import chance_below, check_dates, first_reach
from .mixture import Mixture, lower_quantiles, quantiles_of_all, rates_at, to_estimate
from .packing import Floats
from .parameters import INDEX
from .trajectory import Run, State, clean, last_state, move, run_surface, ways_ahead, weights_ahead
from .types import CLEANING_METHODS, Estimate, SurfaceHistory

_N_PATHS = 64  # paths a draw of the portfolio parameters, for the chance of staying above the limit
_N_DATES = 61


class CleaningOutlook(NamedTuple):
    """What to expect of one cleaning at at_yr, nothing done after it.

    before_mm_h, after_mm_h: rate just before and just after
    p_below_after: chance of being below the limit just after
    years_until_limit: years from the cleaning until the chance of being below the limit reaches 50 %;
        0 when it is so at once, None when it is not within the horizon
    stay_yr: the time asked about; p_stays_above: chance of staying above the limit through all of it
    """

    method: str
    at_yr: float
    before_mm_h: Estimate
    after_mm_h: Estimate
    p_below_after: float
    years_until_limit: float | None
    stay_yr: float
    p_stays_above: float


class CleaningShare(NamedTuple):
    """Share of the lost log rate that a method gives back on a dry surface: 0 nothing, 1 as new.

    share: as the portfolio's own tests and the prior have it; prior: as believed before any test
    wet_penalty: taken off the share when the surface is wet; n_cleanings: cleanings with tests before and after
    """

    method: str
    share: Estimate
    prior: Estimate
    wet_penalty: Estimate
    n_cleanings: int
    source: str


def _normal_estimate(mean: float, sd: float) -> Estimate:
    z80, z95 = 1.2815515655446004, 1.959963984540054
    return Estimate(mean, mean - z80 * sd, mean + z80 * sd, mean - z95 * sd, mean + z95 * sd)


def cleaning_shares(fit: PortfolioFit) -> tuple[CleaningShare, ...]:
    """One entry a cleaning method, in the order of types.CLEANING_METHODS."""
    shares = []
    for method in CLEANING_METHODS:
        belief = priors.CLEANINGS[method]
        rho, wet = INDEX[f"rho:{method}"], INDEX[f"wet:{method}"]
        shares.append(
            CleaningShare(
                method,
                _normal_estimate(float(fit.mode[rho]), float(fit.covariance[rho, rho] ** 0.5)),
                _normal_estimate(belief.share, belief.share_sd),
                _normal_estimate(float(fit.mode[wet]), float(fit.covariance[wet, wet] ** 0.5)),
                fit.cleanings[method],
                belief.source,
            )
        )
    return tuple(shares)


@lru_cache(maxsize=1)
def _paths() -> tuple[Floats, Floats]:
    uniform = scipy.stats.qmc.Sobol(2, rng=2).random(_N_PATHS)
    normal = ndtri(np.clip(uniform, 1e-9, 1.0 - 1e-9))
    return normal[:, :1], normal[:, 1:]


def chance_of_staying_above(state: State, log_limit: float, for_yr: float, pace: Pace) -> float:
    """Chance that x stays above the limit from the state's date through for_yr years.

    The ends of the span are drawn from their joint normal; between two ends above the limit a random walk
    of variance v crosses it with chance exp(-2 a b / v), a and b the heights of the ends (Brownian bridge:
    Karatzas & Shreve 1991, Brownian Motion and Stochastic Calculus, 2nd ed., 4.3.40). The decline between
    the ends is taken as even.
    """
    weights, walk = (part[..., 0, :] for part in weights_ahead(pace, np.array([for_yr]), state.mean))
    var = np.maximum(state.cov[0, 0], 1e-18)
    across = (weights[:, None] * state.cov).sum(0)
    end_var = (across * weights).sum(0) + walk
    first, second = _paths()
    away = np.sqrt(var) * first
    start = state.mean[0] + away - log_limit
    rest = np.sqrt(np.maximum(end_var - across[0] ** 2 / var, 0.0))
    end = (weights * state.mean).sum(0) + across[0] / var * away + rest * second - log_limit
    crossed = np.exp(-2.0 * np.maximum(start, 0.0) * np.maximum(end, 0.0) / np.maximum(walk, 1e-12))
    above = (start > 0.0) & (end > 0.0)
    return float((above * (1.0 - crossed)).mean())


def after_cleaning(
    history: SurfaceHistory,
    fit: PortfolioFit,
    *,
    at_yr: float,
    method: str,
    limit_mm_h: float,
    wet: bool = False,
    share: float = 1.0,
    horizon_yr: float = 10.0,
    stay_yr: float = 1.0,
) -> CleaningOutlook:
    """What one cleaning at at_yr would give; `after_cleanings` for one method."""
    (outlook,) = after_cleanings(
        history,
        fit,
        at_yr=at_yr,
        methods=(method,),
        limit_mm_h=limit_mm_h,
        wet=wet,
        share=share,
        horizon_yr=horizon_yr,
        stay_yr=stay_yr,
    )
    return outlook


def after_cleanings(
    history: SurfaceHistory,
    fit: PortfolioFit,
    *,
    at_yr: float,
    methods: Sequence[str],
    limit_mm_h: float,
    wet: bool = False,
    share: float = 1.0,
    horizon_yr: float = 10.0,
    stay_yr: float = 1.0,
) -> tuple[CleaningOutlook, ...]:
    """What one cleaning at at_yr would give by each of some methods, so that they can be compared.

    at_yr: not before the last event; share: of the area; wet: surface wet then. Raises ImpossibleRecordError
    for a history that cannot be, ValueError for an unknown method, a share outside 0 to 1, or dates that cannot be.
    """
    check_dates(history, at_yr, limit_mm_h, horizon_yr)
    for method in methods:
        if method not in CLEANING_METHODS:
            raise ValueError(f"Unknown cleaning method {method!r}; use one of {', '.join(CLEANING_METHODS)}.")
    if not 0.0 < share <= 1.0:
        raise ValueError(f"share of the area must be above 0 and at most 1, got {share}.")
    if not methods:
        return ()
    run = run_surface(history, fit.draws)
    known = last_state(run)
    due = move(run, known, at_yr)
    after = [clean(due, run, method, share, wet) for method in methods]
    before, levels = _levels(run, known, at_yr, after)
    dates, log_limit = np.linspace(at_yr, at_yr + horizon_yr, _N_DATES), float(np.log(limit_mm_h))
    chances = chance_below(ways_ahead(run, _side_by_side(after), dates), limit_mm_h)
    outlooks = []
    for method, state, level, p_below in zip(methods, after, levels, chances, strict=True):
        reached = first_reach(dates, p_below, 0.5)
        until = None if reached is None else reached - at_yr
        stays = chance_of_staying_above(state, log_limit, stay_yr, run.pace)
        outlooks.append(
            CleaningOutlook(method, at_yr, before, level, float(p_below[0]), until, stay_yr, stays)
        )
    return tuple(outlooks)


def _side_by_side(states: Sequence[State]) -> State:
    """n states of one date as one, (3, n, C) and (3, 3, n, C)."""
    return State(
        states[0].t_yr,
        np.stack([state.mean for state in states], axis=1),
        np.stack([state.cov for state in states], axis=2),
    )


def _levels(run: Run, known: State, at_yr: float, after: Sequence[State]) -> tuple[Estimate, list[Estimate]]:
    """The rate at at_yr before a cleaning, and just after each."""
    before = ways_ahead(run, known, np.array([at_yr]))
    means = np.stack([state.mean[0] for state in after])
    sds = np.sqrt(np.maximum(np.stack([state.cov[0, 0] for state in after]), 0.0))
    first, rest = quantiles_of_all([before.falling, Mixture(means, sds)])
    first = lower_quantiles(first, before.kept)
    return to_estimate(rates_at(first[0])), [to_estimate(rates) for rates in rates_at(rest)]
