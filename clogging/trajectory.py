"""One surface under every draw of the portfolio parameters: its state at the last event, and at any other date."""

from __future__ import annotations

from contextvars import ContextVar
from typing import NamedTuple

import numpy as np

from .blocks import Block, pack, tile
from .coefficients import Change, Coefficients, coefficients, column_sets, move_of, pace_of, renewal
from .decline import Pace, Passage, log_rate_after, passage, passage_ahead
from .extrapolation import Extrapolation, extrapolate
from .filtering import Filtered, Smoothed, advance, change_columns, pull_forward, run_filter, smooth
from .mixture import Mixture
from .packing import Floats, Ints
from .parameters import PortfolioParams
from .types import CLEANING_METHODS, RENEWING_METHODS, SOURCE_CHANGES, SurfaceHistory


class Run(NamedTuple):
    """The filter of one surface, one column a draw of the portfolio parameters (C columns)."""

    block: Block
    params: PortfolioParams
    coefficients: Coefficients
    filtered: Filtered
    pace: Pace  # how the surface declines, (C,) each

    @property
    def last_yr(self) -> float:
        """Date of the last event, 0 without one."""
        return float(self.block.t[-1, 0]) if len(self.block.t) else 0.0

    @property
    def usual_lam(self) -> Floats:
        """Decline a year of an open surface of the kind with no recorded condition, (C,)."""
        return self.params.mu_lam[self.block.surface_type[0]]


class State(NamedTuple):
    """Mean (3, C) and covariance (3, 3, C) of x, b and lam at t_yr; those of n states side by side (3, n, C)."""

    t_yr: float
    mean: Floats
    cov: Floats


# What was filtered last: the forecast of a surface, its cleanings and its source are asked for one after the other.
_LATEST: ContextVar[tuple[SurfaceHistory, PortfolioParams, Run] | None] = ContextVar("latest", default=None)


def run_surface(history: SurfaceHistory, params: PortfolioParams) -> Run:
    """Filter one history under M parameter sets. Raises ImpossibleRecordError when the history contradicts itself.

    Asked for the same again, it gives the same run, which nobody changes.
    """
    latest = _LATEST.get()
    if latest is not None and latest[1] is params and latest[0] == history:
        return latest[2]
    run = _filtered(history, params)
    _LATEST.set((history, params, run))
    return run


def _filtered(history: SurfaceHistory, params: PortfolioParams) -> Run:
    block = tile(pack([history])[0], params.n_sets)
    c = coefficients(block, params)
    pace = pace_of(block, params, column_sets(block, params))
    return Run(block, params, c, run_filter(block, c), pace)


def last_state(run: Run) -> State:
    """x, b and lam given every reading, at the last event."""
    f = run.filtered
    return State(run.last_yr, f.after_mean[-1, :3].copy(), f.after_cov[-1, :3, :3].copy())


def _way(run: Run, known: State, t_yr: Floats) -> Extrapolation:
    """From the last thing known to dates (T,), (T, C) each, of n states (n, T, C)."""
    x, b, lam = known.mean[..., None, :]
    return extrapolate(run.pace, (t_yr - known.t_yr)[:, None], x - b, lam, run.usual_lam)


def move(run: Run, known: State, t_yr: float) -> State:
    """The state at a date after the last thing known, with nothing done in between."""
    return _moved(known, t_yr, _way(run, known, np.array([t_yr])))


def _moved(known: State, t_yr: float, way: Extrapolation) -> State:
    """The state on the first date of a way, t_yr."""
    mean, cov = known.mean.copy(), known.cov.copy()
    span = Passage(*(np.broadcast_to(field, way.kappa.shape)[..., 0, :] for field in way.span))
    none = np.zeros(mean.shape[1:])
    advance(mean, cov, move_of(span, none, none))
    mean[0] -= way.less_x[..., 0, :]
    mean[1] -= way.less_b[..., 0, :]
    return State(t_yr, mean, cov)


def clean(state: State, run: Run, method: str, share: float, wet: bool) -> State:
    """The state just after a cleaning of a share of the area."""
    params, at = run.params, CLEANING_METHODS.index(method)
    mean, cov = state.mean.copy(), state.cov.copy()
    regain = share * (params.rho[at] - wet * params.wet[at])
    noise = share * params.sd_clean[at] ** 2
    if method in RENEWING_METHODS:
        new = params.mu_b[run.block.surface_type[0]]
        scale, shift, added = renewal(np.full_like(regain, share), regain, noise, new, params.tau_b)
        change_columns(mean, cov, Change(np.arange(regain.size), scale, shift, added))
    else:
        still = np.zeros_like(regain)
        advance(mean, cov, move_of(passage(run.pace, still), regain, noise))
    return State(state.t_yr, mean, cov)


def change_source(state: State, run: Run, kind: str) -> State:
    """The state just after a source of sediment stopped or began."""
    at = SOURCE_CHANGES.index(kind)
    mean, cov = state.mean.copy(), state.cov.copy()
    factor = run.params.source_factor[at]
    mean[2] *= factor
    cov[2] *= factor
    cov[:, 2] *= factor
    cov[2, 2] += run.params.sd_source[at] ** 2
    return State(state.t_yr, mean, cov)


def weights_ahead(pace: Pace, years: Floats, mean: Floats) -> tuple[Floats, Floats]:
    """Weights (3, T, C) of x, b and lam in x after years (T,) from a mean (3, C), and the variance (T, C) added."""
    return _weights(passage_ahead(pace, years[:, None], mean[0] - mean[1], mean[2]))


def _weights(span: Passage) -> tuple[Floats, Floats]:
    shape = np.broadcast_shapes(span.keep.shape, span.fall.shape)
    keep, fall = np.broadcast_to(span.keep, shape), np.broadcast_to(span.fall, shape)
    return np.stack([keep, 1.0 - keep, -fall]), np.broadcast_to(span.noise, shape)


def _falling(known: State, way: Extrapolation) -> tuple[Floats, Floats, Floats]:
    """Mean and sd of x on the dates of a way, nothing done in between, and the kappa behind them: (..., T, C) each."""
    mean, var = log_rate_after(way.span, known.mean[..., None, :], known.cov[..., None, :])
    mean -= way.less_x
    return mean, np.sqrt(np.maximum(var, 0.0)), np.broadcast_to(way.kappa, mean.shape)


def log_rate_at_most(
    run: Run, known: State, t_yr: Floats, falling: tuple[Floats, Floats, Floats]
) -> tuple[Floats, Floats]:
    """Mean and sd (..., T, C) of x, a decline that speeds up held at the rate of today: no surface opens by itself.

    With kappa below 0 doubt grows both ways, and by the same equation a rate above that as new would rise without
    end: nothing of what lies above this is believed. The other draws are those of falling.
    """
    mean, sd, kappa = falling
    walk = np.maximum(t_yr - known.t_yr, 0.0)[:, None] * run.pace.drift_var
    kept = np.sqrt(np.maximum(known.cov[0, 0][..., None, :] + walk, 0.0))
    return np.where(kappa < 0.0, known.mean[0][..., None, :], mean), np.where(kappa < 0.0, kept, sd)


class Ahead(NamedTuple):
    """x at dates after the last thing known, (..., T, C): as it declines and as `log_rate_at_most`.

    What is believed of a date is whichever lies lower.
    """

    falling: Mixture
    kept: Mixture

    def until(self, n: int) -> Ahead:
        """The same at the first n dates."""
        return Ahead(*(Mixture(way.mean[..., :n, :], way.sd[..., :n, :]) for way in self))


def ways_ahead(run: Run, known: State, t_yr: Floats) -> Ahead:
    """Both ways of x at dates (T,) after the last thing known of a surface, nothing done in between.

    known: the state from which nothing more is known, which may lie after the run's last event.
    """
    return _both_ways(run, known, t_yr, _way(run, known, t_yr))


def course_ahead(run: Run, known: State, t_yr: Floats) -> tuple[State, Ahead]:
    """The state on the first of dates (T,), and `ways_ahead` on all of them."""
    way = _way(run, known, t_yr)
    return _moved(known, float(t_yr[0]), way), _both_ways(run, known, t_yr, way)


def _both_ways(run: Run, known: State, t_yr: Floats, way: Extrapolation) -> Ahead:
    falling = _falling(known, way)
    return Ahead(Mixture(*falling[:2]), Mixture(*log_rate_at_most(run, known, t_yr, falling)))


def smooth_run(run: Run) -> Smoothed:
    """Backward pass over the run's readings."""
    return smooth(run.block, run.coefficients, run.filtered)


def _bridge(run: Run, t_yr: Floats, done: Ints) -> tuple[Floats, Floats]:
    """x at dates (T,) from the last step before each: mean (T, C) and covariance with the whole state (D, T, C)."""
    f, pace = run.filtered, run.pace
    years = (t_yr - np.concatenate([[0.0], run.block.t[:, 0]])[done])[:, None]
    weights, noise = _weights(passage(pace, years))
    mean = (weights * f.after_mean[done, :3].swapaxes(0, 1)).sum(0)
    row = (weights[:, :, None] * f.after_cov[done, :3].swapaxes(0, 1)).sum(0).swapaxes(0, 1)
    row[0] = (weights * row[:3]).sum(0) + noise
    row[1] -= pace.gamma * years * row[2]
    return mean, row


def _on_to_next(run: Run, steps: Ints, years: Floats, rows: Floats) -> None:
    """Carry rows (D, T, C), covariances with the state, over years (T,) and through the step (T,) that comes next."""
    c, block = run.coefficients, run.block
    regain = c.regain[steps]
    pull_forward(move_of(passage(run.pace, years[:, None]), regain, np.zeros_like(regain)), rows)
    for step, change in enumerate(c.changes):
        if change.columns.size:
            rows[:3, steps == step] *= change.scale[:, None]
    if block.has_day:
        rows[-1] *= 1.0 - block.reset[steps]


def log_rate_behind(run: Run, later: Smoothed, t_yr: Floats, done: Ints) -> Mixture:
    """Mean and sd (T, C) of x at past dates given all readings.

    t_yr: (T,) dates; done: (T,) number of steps that lie before each date, which tells the two sides of a
    cleaning apart. Only the row of x is needed, so this costs little for many dates.
    """
    mean, row = _bridge(run, t_yr, done)
    var = row[0].copy()
    at = np.flatnonzero(done < len(run.block.t))
    steps, rows = done[at], row[:, at]
    _on_to_next(run, steps, run.block.t[steps, 0] - t_yr[at], rows)
    along = rows.swapaxes(0, 1)
    mean[at] += (along * later.before_r[steps]).sum(1)
    var[at] -= ((later.before_n[steps] * along[:, :, None]).sum(1) * along).sum(1)
    return Mixture(mean, np.sqrt(np.maximum(var, 0.0)))
