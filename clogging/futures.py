"""What is known of many surfaces at once, and what may become of them, for whoever compares ways of caring for them.

Two views of one posterior, columns side by side: `Known` is what a person can know, a normal of x, b and lam a column,
carried on by time, cleanings and tests; `Drawn` is one true surface a column, drawn from the posterior with its own
portfolio parameters. A way of care decides by the first and pays by the second.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from . import priors
from .blocks import Block, build_blocks
from .decline import Pace, Passage, log_rate_after, passage_ahead
from .extrapolation import extrapolate
from .fitting import PortfolioFit
from .layout import flatten
from .packing import Floats, Ints
from .parameters import PortfolioParams
from .portfolio import block_states
from .types import CLEANING_METHODS, RENEWING_METHODS, SOURCE_CHANGES, SurfaceHistory

Mask = NDArray[np.bool_]
_STOPPED = SOURCE_CHANGES.index("stopped")
_RENEWS = np.array([method in RENEWING_METHODS for method in CLEANING_METHODS])
_LEAST_VAR = 1e-12
_SEALED = float(np.log(priors.SEALED_MM_H))  # how far below it a surface is decides nothing


class Traits(NamedTuple):
    """What a surface is like besides its state; N columns.

    pace: (N,) each; share, share_sd, scatter: (8, N) what a cleaning of the whole dry surface gives back of the lost
    log rate, how well that is known, and the sd just after; new, new_sd: (N,) log rate as new of what is laid anew
    day_var, spot_var: (N,) of a round and of a spot; source_factor, source_sd: (N,) decline once a source is stopped
    """

    pace: Pace
    share: Floats
    share_sd: Floats
    scatter: Floats
    new: Floats
    new_sd: Floats
    day_var: Floats
    spot_var: Floats
    source_factor: Floats
    source_sd: Floats

    def columns(self, at: Ints) -> Traits:
        """The same of some columns, which may be repeated."""
        pace = Pace(*(field[at] for field in self.pace))
        return Traits(pace, *(field[..., at] for field in self[1:]))


class Known(NamedTuple):
    """Mean (3, N) and covariance (3, 3, N) of x, b and lam, the portfolio parameters averaged out."""

    mean: Floats
    cov: Floats
    traits: Traits

    @property
    def sd(self) -> Floats:
        """(N,) of the log rate."""
        return np.sqrt(np.maximum(self.cov[0, 0], _LEAST_VAR))

    def columns(self, at: Ints) -> Known:
        """The same of some columns, which may be repeated."""
        return Known(self.mean[:, at], self.cov[:, :, at], self.traits.columns(at))

    def states(self, at: Ints) -> Known:
        """The same of some columns, their traits left out of account: for who asks what is known now alone."""
        return Known(self.mean[:, at], self.cov[:, :, at], self.traits)

    def chance_now(self, log_limit: Floats) -> Floats:
        """(N,) chance of being below a limit now."""
        return np.asarray(ndtr((log_limit - self.mean[0]) / self.sd))

    def chance_below(self, log_limit: Floats, years: Floats | float = 0.0) -> Floats:
        """(N,) chance of being below a limit after years in which nothing is done."""
        mean, var = _ahead(self, years)
        return np.asarray(ndtr((log_limit - mean) / np.sqrt(np.maximum(var, _LEAST_VAR))))


class Drawn(NamedTuple):
    """True x, b and lam (3, N) of surfaces drawn from their posterior."""

    state: Floats
    traits: Traits

    def columns(self, at: Ints) -> Drawn:
        """The same of some columns, which may be repeated."""
        return Drawn(self.state[:, at], self.traits.columns(at))


def known_and_drawn(
    histories: Sequence[SurfaceHistory],
    fit: PortfolioFit,
    *,
    now_yr: Sequence[float],
    n_draws: int,
    rng: np.random.Generator,
) -> tuple[Known, Drawn]:
    """What is known of S surfaces at now_yr (S,), and n_draws true ones of each, a surface's own side by side.

    Each draw takes one set of the portfolio parameters and keeps it. Raises ImpossibleRecordError for a history that
    cannot be, ValueError where n_draws is not 1 or more.
    """
    if n_draws < 1:
        raise ValueError(f"At least one draw a surface is needed, got {n_draws}.")
    n, now, params = len(histories), np.asarray(now_yr, dtype=float), fit.draws
    sets = rng.permutation(params.n_sets)[np.arange(n_draws) % params.n_sets]
    means, covs, states = np.empty((3, n)), np.empty((3, 3, n)), np.empty((3, n, n_draws))
    kinds = np.empty(n, dtype=np.int64)
    for block in build_blocks(flatten(histories)):
        own = block.surfaces
        mean, cov = _states_at(block, params, now[own])
        kinds[own] = block.surface_type
        means[:, own] = mean.mean(1)
        away = mean - mean.mean(1)[:, None]
        covs[:, :, own] = cov.mean(2) + (away[:, None] * away[None]).mean(2)
        states[:, own] = _draw(mean[:, sets], cov[:, :, sets], rng)
    drawn = Drawn(states.reshape(3, -1), _traits_drawn(params, kinds, sets))
    return Known(means, covs, _traits_known(params, kinds)), drawn


def _states_at(block: Block, params: PortfolioParams, now: Floats) -> tuple[Floats, Floats]:
    """Mean (3, M, N) and covariance (3, 3, M, N) at now (N,)."""
    state = block_states(block, params)
    last = block.t[-1] if len(block.t) else np.zeros(block.n_columns)
    pace = Pace(params.kappa[block.surface_type], params.gamma, params.drift_var)
    # The draws of the parameters lie in the last axis there, in the first one here.
    x, b, lam = np.swapaxes(state.mean, 1, 2)
    usual = params.mu_lam[block.surface_type]
    way = extrapolate(pace, np.maximum(now - last, 0.0)[:, None], x - b, lam, usual)
    mean, cov = _moved(state.mean, state.cov, Passage(*(part.T for part in way.span)))
    mean[0] -= way.less_x.T
    mean[1] -= way.less_b.T
    return mean, cov


def _moved(mean: Floats, cov: Floats, span: Passage) -> tuple[Floats, Floats]:
    """x <- keep x + (1 - keep) b - fall lam, b <- b - sink lam."""
    move = np.zeros(mean.shape)
    move[0], move[1] = span.keep, 1.0 - span.keep
    move[2] = -span.fall
    mean = np.stack([(move * mean).sum(0), mean[1] - span.sink * mean[2], mean[2]])
    rows = np.stack([(move[:, None] * cov).sum(0), cov[1] - span.sink * cov[2], cov[2]])
    out = np.stack([(move[None] * rows).sum(1), rows[:, 1] - span.sink * rows[:, 2], rows[:, 2]], axis=1)
    out[0, 0] += span.noise
    return mean, out


def _draw(mean: Floats, cov: Floats, rng: np.random.Generator) -> Floats:
    """One state (3, N, F) each from normals (3, F, N) and (3, 3, F, N)."""
    tiny = 1e-10 * np.eye(3)
    root = np.linalg.cholesky(np.moveaxis(cov, (0, 1), (2, 3)) + tiny)
    away = np.einsum("fnij,jfn->ifn", root, rng.normal(size=mean.shape))
    return np.swapaxes(mean + away, 1, 2)


def _traits_known(params: PortfolioParams, kinds: Ints) -> Traits:
    n = kinds.size
    per = np.ones(n)
    pace = Pace(params.kappa.mean(1)[kinds], params.gamma.mean() * per, params.drift_var.mean() * per)
    new_var = (params.tau_b**2).mean() + params.mu_b.var(1)[kinds]
    return Traits(
        pace,
        np.outer(params.rho.mean(1), per),
        np.outer(params.rho.std(1), per),
        np.outer(np.sqrt((params.sd_clean**2).mean(1)), per),
        params.mu_b.mean(1)[kinds],
        np.sqrt(new_var),
        (params.sd_day**2).mean() * per,
        (params.sd_spot**2).mean() * per,
        params.source_factor.mean(1)[_STOPPED] * per,
        np.sqrt((params.sd_source[_STOPPED] ** 2).mean()) * per,
    )


def _traits_drawn(params: PortfolioParams, kinds: Ints, sets: Ints) -> Traits:
    kind, own = np.repeat(kinds, sets.size), np.tile(sets, kinds.size)
    zero = np.zeros(kind.size)
    return Traits(
        Pace(params.kappa[kind, own], params.gamma[own], params.drift_var[own]),
        params.rho[:, own],
        np.zeros((len(CLEANING_METHODS), kind.size)),
        params.sd_clean[:, own],
        params.mu_b[kind, own],
        zero + params.tau_b[own],
        params.sd_day[own] ** 2,
        params.sd_spot[own] ** 2,
        params.source_factor[_STOPPED, own],
        params.sd_source[_STOPPED, own],
    )


def _ahead(known: Known, years: Floats | float) -> tuple[Floats, Floats]:
    """Mean and variance (N,) of x after years."""
    x, b, lam = known.mean
    span = passage_ahead(known.traits.pace, np.broadcast_to(years, x.shape), x - b, lam)
    return log_rate_after(span, known.mean, known.cov)


def let_pass(known: Known, years: float) -> Known:
    """What is known after years in which nothing is done."""
    x, b, lam = known.mean
    span = passage_ahead(known.traits.pace, np.full(x.size, years), x - b, lam)
    mean, cov = _moved(known.mean, known.cov, span)
    mean[0] = np.maximum(mean[0], _SEALED)
    return known._replace(mean=mean, cov=cov)


def let_pass_truly(drawn: Drawn, years: float, luck: Floats) -> Drawn:
    """The true surfaces after years in which nothing is done. luck: (N,) standard normals."""
    x, b, lam = drawn.state
    span = passage_ahead(drawn.traits.pace, np.full(x.size, years), x - b, lam)
    noise = np.sqrt(np.maximum(span.noise, 0.0)) * luck
    moved = np.maximum(span.keep * x + (1.0 - span.keep) * b - span.fall * lam + noise, _SEALED)
    return drawn._replace(state=np.stack([moved, b - span.sink * lam, lam]))


def cleaned(known: Known, method: Ints) -> Known:
    """What is known after a cleaning of the whole surface by method (N,) of CLEANING_METHODS; -1 is none.

    The share restored is not known exactly, so that the variance grows with the square of the loss it is a share of,
    on average over what the loss may be.
    """
    at = np.flatnonzero(method >= 0)
    if not at.size:
        return known
    traits, m = known.traits, method[at]
    share, share_sd, scatter = (f[m, at] for f in (traits.share, traits.share_sd, traits.scatter))
    mean, cov = known.mean.copy(), known.cov.copy()
    mean[:, at], cov[:, :, at] = _renewed(
        mean[:, at], cov[:, :, at], _RENEWS[m], traits.new[at], traits.new_sd[at]
    )
    lost = mean[1, at] - mean[0, at]
    mean[0, at] += share * lost
    rows = cov[:, :, at]
    lost_var = rows[0, 0] - 2.0 * rows[0, 1] + rows[1, 1]
    rows[0] = (1.0 - share) * rows[0] + share * rows[1]
    rows[:, 0] = (1.0 - share) * rows[:, 0] + share * rows[:, 1]
    rows[0, 0] += scatter**2 + share_sd**2 * (lost**2 + lost_var)
    cov[:, :, at] = rows
    return known._replace(mean=mean, cov=cov)


def _renewed(mean: Floats, cov: Floats, renews: Mask, new: Floats, new_sd: Floats) -> tuple[Floats, Floats]:
    """The rate as new drawn anew where renews, independent of what was."""
    mean[1] = np.where(renews, new, mean[1])
    cov[1] = np.where(renews, 0.0, cov[1])
    cov[:, 1] = np.where(renews, 0.0, cov[:, 1])
    cov[1, 1] = np.where(renews, new_sd**2, cov[1, 1])
    return mean, cov


def cleaned_truly(drawn: Drawn, method: Ints, luck: Floats) -> Drawn:
    """The true surfaces after a cleaning by method (N,); -1 is none. luck: (2, N) standard normals."""
    x, b, lam = drawn.state
    traits, done, m = drawn.traits, method >= 0, np.maximum(method, 0)
    at = np.arange(x.size)
    b = np.where(done & _RENEWS[m], traits.new + traits.new_sd * luck[0], b)
    after = x + traits.share[m, at] * (b - x) + traits.scatter[m, at] * luck[1]
    return drawn._replace(state=np.stack([np.where(done, after, x), b, lam]))


def read_truly(drawn: Drawn, n_spots: int, luck: Floats) -> Floats:
    """(N,) mean log result of a round of n_spots ring tests on each true surface. luck: (N,) standard normals."""
    return drawn.state[0] + np.sqrt(drawn.traits.day_var + drawn.traits.spot_var / n_spots) * luck


def tested(known: Known, mean_log: Floats, n_spots: int, done: Mask) -> Known:
    """What is known after a round of n_spots ring tests with that mean log result (N,), where done (N,)."""
    noise = known.traits.day_var + known.traits.spot_var / n_spots
    gain = np.where(done, known.cov[:, 0] / (known.cov[0, 0] + noise), 0.0)
    surprise = np.where(done, mean_log - known.mean[0], 0.0)
    cov = known.cov - gain[:, None] * known.cov[0]
    return known._replace(mean=known.mean + gain * surprise, cov=cov)


def source_stopped(known: Known, done: Mask) -> Known:
    """What is known once the source of sediment is stopped, where done (N,)."""
    factor = np.where(done, known.traits.source_factor, 1.0)
    mean, cov = known.mean.copy(), known.cov.copy()
    mean[2] *= factor
    cov[2] *= factor
    cov[:, 2] *= factor
    cov[2, 2] += np.where(done, known.traits.source_sd**2, 0.0)
    return known._replace(mean=mean, cov=cov)


def source_stopped_truly(drawn: Drawn, done: Mask, luck: Floats) -> Drawn:
    """The true surfaces once the source of sediment is stopped, where done (N,). luck: (N,) standard normals."""
    x, b, lam = drawn.state
    after = drawn.traits.source_factor * lam + drawn.traits.source_sd * luck
    return drawn._replace(state=np.stack([x, b, np.where(done, after, lam)]))
