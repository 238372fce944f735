"""One surface under every draw of the portfolio parameters: its state at the last event, and at any other date."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from . import priors
from .blocks import DAY_STATE, Block, pack, tile
from .filtering import Coefficients, Filtered, Smoothed, advance, coefficients, run_filter, smooth
from .packing import Floats, Ints
from .parameters import PortfolioParams
from .types import SurfaceHistory


class Run(NamedTuple):
    """The filter of one surface, one column a draw of the portfolio parameters (C columns)."""

    block: Block
    params: PortfolioParams
    coefficients: Coefficients
    filtered: Filtered

    @property
    def last_yr(self) -> float:
        """Date of the last event, 0 without one."""
        return float(self.block.t[-1, 0]) if len(self.block.t) else 0.0


class State(NamedTuple):
    """Mean (3, C) and covariance (3, 3, C) of x, b and lam at t_yr."""

    t_yr: float
    mean: Floats
    cov: Floats


def run_surface(history: SurfaceHistory, params: PortfolioParams) -> Run:
    """Filter one history under M parameter sets. Raises ImpossibleRecordError when the history contradicts itself."""
    block = tile(pack([history])[0], params.clock.shape[-1])
    c = coefficients(block, params)
    return Run(block, params, c, run_filter(block, c))


def clock_at(t_yr: Floats | float, params: PortfolioParams) -> Floats:
    """(..., C) exposure at dates (...) under each parameter set."""
    age = np.asarray(t_yr, dtype=float)[..., None] / priors.CLOCK_REFERENCE_YR
    return priors.CLOCK_REFERENCE_YR * age**params.clock


def last_state(run: Run) -> State:
    """x, b and lam given every reading, at the last event."""
    f = run.filtered
    return State(run.last_yr, f.after_mean[-1, :3].copy(), f.after_cov[-1, :3, :3].copy())


def move(state: State, t_yr: float, params: PortfolioParams) -> State:
    """The state at a later date, with nothing done in between."""
    mean, cov = state.mean.copy(), state.cov.copy()
    exposure = clock_at(t_yr, params) - clock_at(state.t_yr, params)
    noise = params.drift_var * (t_yr - state.t_yr)
    advance(mean, cov, np.zeros_like(noise), exposure, noise)
    return State(t_yr, mean, cov)


def clean(state: State, regain: Floats, noise: Floats) -> State:
    """The state just after a cleaning that gives back regain (C,) of the lost log rate."""
    mean, cov = state.mean.copy(), state.cov.copy()
    advance(mean, cov, regain, np.zeros_like(regain), noise)
    return State(state.t_yr, mean, cov)


def log_rate_ahead(state: State, t_yr: Floats, params: PortfolioParams) -> tuple[Floats, Floats]:
    """Mean and sd (T, C) of x at dates (T,) not before the state's own, with nothing done in between."""
    exposure = clock_at(t_yr, params) - clock_at(state.t_yr, params)
    mean = state.mean[0] - exposure * state.mean[2]
    var = state.cov[0, 0] - 2.0 * exposure * state.cov[0, 2] + exposure**2 * state.cov[2, 2]
    var = var + params.drift_var * (t_yr - state.t_yr)[:, None]
    return mean, np.sqrt(np.maximum(var, 0.0))


def smooth_run(run: Run) -> Smoothed:
    """Backward pass over the run's readings."""
    return smooth(run.block, run.coefficients, run.filtered)


def _bridge(run: Run, t_yr: Floats, done: Ints) -> tuple[Floats, Floats]:
    """x at dates (T,) from the last step before each: mean (T, C) and covariance with the whole state (T, D, C)."""
    f, params = run.filtered, run.params
    start = np.concatenate([[0.0], run.block.t[:, 0]])[done]
    exposure = clock_at(t_yr, params) - clock_at(start, params)
    mean = f.after_mean[done, 0] - exposure * f.after_mean[done, 2]
    row = f.after_cov[done, 0] - exposure[:, None] * f.after_cov[done, 2]
    row[:, 0] += params.drift_var * (t_yr - start)[:, None] - exposure * row[:, 2]
    return mean, row


def log_rate_behind(run: Run, later: Smoothed, t_yr: Floats, done: Ints) -> tuple[Floats, Floats]:
    """Mean and sd (T, C) of x at past dates given all readings.

    t_yr: (T,) dates; done: (T,) number of steps that lie before each date, which tells the two sides of a
    cleaning apart. Only the row of x is needed, so this costs little for many dates.
    """
    mean, row = _bridge(run, t_yr, done)
    var = row[:, 0].copy()
    ahead = np.flatnonzero(done < len(run.block.t))
    if not ahead.size:
        return mean, np.sqrt(np.maximum(var, 0.0))
    following = done[ahead]
    c = run.coefficients
    to_go = clock_at(run.block.t[following, 0], run.params) - clock_at(t_yr[ahead], run.params)
    u = row[ahead]
    u[:, 0] = (1.0 - c.regain[following]) * (u[:, 0] - to_go * u[:, 2]) + c.regain[following] * u[:, 1]
    if run.block.reads is not None:
        u[:, DAY_STATE] *= 1.0 - run.block.reset[following]
    mean[ahead] += (u * later.before_r[following]).sum(1)
    pulled = np.stack(
        [(later.before_n[step] * own[:, None]).sum(0) for step, own in zip(following, u, strict=True)]
    )
    var[ahead] -= (pulled * u).sum(1)
    return mean, np.sqrt(np.maximum(var, 0.0))
