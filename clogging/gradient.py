"""Log-likelihood of a portfolio and its exact gradient, by running the filter backwards.

Reverse-mode differentiation of `filtering.run_filter`, written by hand: every line below is the transpose
of one line there, last line first. `m` and `P` name the derivatives of the log-likelihood by the mean and
the covariance at that point. The cost is about twice that of the filter, whatever the number of parameters.

Source of the technique: Griewank & Walther (2008), Evaluating Derivatives, 2nd ed., ch. 3; for normal
readings it gives the score of Koopman & Shephard (1992), Biometrika 79(4):823-826.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from . import priors
from .blocks import DAY_STATE, Block
from .filtering import (
    Coefficients,
    Filtered,
    broadcast,
    coefficients,
    column_sets,
    run_filter,
    seen_by,
    take,
    within_loglik,
)
from .packing import BELOW, EXACT, Floats, Ints
from .parallel import on_all_cores
from .parameters import PortfolioParams, to_params, to_vector_gradient


class CoefficientGradient(NamedTuple):
    """Derivatives of the log-likelihood by each field of Coefficients, same shapes."""

    mean0: Floats
    cov0: Floats
    regain: Floats
    exposure: Floats
    noise: Floats
    ring_y: Floats
    reading_var: Floats
    day_var: Floats


class _Pull(NamedTuple):
    """Derivatives by the innovation and by its variance, and the factors of the state's own derivatives."""

    innovation: Floats
    variance: Floats


def _pull_exact(v: Floats, var: Floats, e_bar: Floats, k_bar: Floats) -> _Pull:
    """Through e = v / var, k = 1 / var, loglik = -(log var + v^2 / var) / 2."""
    scaled = v / var
    by_var = (-e_bar * scaled - k_bar / var - 0.5 + 0.5 * v * scaled) / var
    return _Pull(e_bar / var - scaled, by_var)


def _pull_bounded(
    v: Floats, var: Floats, e: Floats, k: Floats, sign: Floats, bars: tuple[Floats, Floats]
) -> _Pull:
    """Through e = -s h / sd, k = w / var, loglik = log Phi(a), a = s v / sd; h hazard, w = h (h + a)."""
    e_bar, k_bar = bars
    sd = np.sqrt(var)
    alpha, hazard, missing = sign * v / sd, -sign * e * sd, k * var
    by_alpha = (
        hazard + e_bar * sign * missing / sd + k_bar * (hazard - missing * (2.0 * hazard + alpha)) / var
    )
    by_var = -(0.5 * e_bar * e + k_bar * k + 0.5 * by_alpha * alpha) / var
    return _Pull(by_alpha * sign / sd, by_var)


def _pull_reading(
    block: Block, j: int, v: Floats, var: Floats, gains: tuple[Floats, Floats], bars: tuple[Floats, Floats]
) -> _Pull:
    code, exact = block.code[j], block.exact[j]
    pulled = _pull_exact(v, var, *bars)
    innovation, variance = pulled.innovation * exact, pulled.variance * exact
    if block.has_bounds:
        at = np.flatnonzero(code > EXACT)
        sign = np.where(code[at] == BELOW, 1.0, -1.0)
        own = (bars[0][at], bars[1][at])
        bounded = _pull_bounded(v[at], var[at], gains[0][at], gains[1][at], sign, own)
        innovation[at], variance[at] = bounded
    return _Pull(innovation, variance)


def _back_through_reading(block: Block, j: int, c: Coefficients, f: Filtered, m: Floats, P: Floats) -> _Pull:
    """Update m and P in place from after reading j to before it."""
    reads = None if block.reads is None else block.reads[j]
    across, own_var, level = seen_by(f.before_cov[j], f.before_mean[j], reads)
    var = own_var + c.reading_var[j]
    e, k = f.gain_e[j], f.gain_k[j]
    p_across = (P * across).sum(1)
    e_bar, k_bar = (m * across).sum(0), -(across * p_across).sum(0)
    pull = _pull_reading(block, j, c.ring_y[j] - level, var, (e, k), (e_bar, k_bar))
    across_bar = m * e - 2.0 * k * p_across
    if reads is None:
        across_bar[0] += pull.variance
        m[0] -= pull.innovation
        P[0] += 0.5 * across_bar
        P[:, 0] += 0.5 * across_bar
    else:
        across_bar += reads * pull.variance
        m -= reads * pull.innovation
        P += 0.5 * (across_bar[:, None] * reads + reads[:, None] * across_bar)
    return pull


def _back_through_advance(
    regain: Floats, exposure: Floats, mean: Floats, cov: Floats, m: Floats, P: Floats
) -> tuple[Floats, Floats, Floats]:
    """Update m and P in place to before `advance`; derivatives by regain, exposure and noise.

    mean, cov: the state that went in.
    """
    kept = 1.0 - regain
    fall = -kept * exposure
    first = np.stack([kept, regain, fall])
    noise_bar = P[0, 0].copy()
    row0 = kept * cov[0] + regain * cov[1] + fall * cov[2]
    first_bar = m[0] * mean[:3] + 2.0 * (P[0, 0] * row0[:3] + (P[0, 1:, None] * cov[1:, :3]).sum(0))
    lead = m[0].copy()
    m[0] = 0.0
    m[:3] += first * lead
    column = P[:, 0].copy()
    P[:, 0] = 0.0
    P[:, :3] += column[:, None] * first
    row = P[0].copy()
    P[0] = 0.0
    P[:3] += first[:, None] * row
    regain_bar = -first_bar[0] + first_bar[1] + exposure * first_bar[2]
    return regain_bar, -kept * first_bar[2], noise_bar


def _back_through_day(reset: Floats, m: Floats, P: Floats) -> Floats:
    kept = 1.0 - reset
    day_var_bar = reset * P[DAY_STATE, DAY_STATE]
    m[DAY_STATE] *= kept
    P[DAY_STATE] *= kept
    P[:, DAY_STATE] *= kept
    return day_var_bar


def filter_gradient(block: Block, c: Coefficients, f: Filtered) -> CoefficientGradient:
    """Derivatives of the summed `Filtered.loglik` by every coefficient, column by column."""
    m, P = np.zeros_like(c.mean0), np.zeros_like(c.cov0)
    regain, exposure, noise, ring_y, reading_var = (np.empty_like(block.y) for _ in range(5))
    day_var = np.zeros(block.n_columns)
    for j in reversed(range(block.y.shape[0])):
        pull = _back_through_reading(block, j, c, f, m, P)
        ring_y[j], reading_var[j] = pull.innovation, pull.variance
        if block.reads is not None:
            day_var += _back_through_day(block.reset[j], m, P)
        state = (f.after_mean[j], f.after_cov[j])
        regain[j], exposure[j], noise[j] = _back_through_advance(c.regain[j], c.exposure[j], *state, m, P)
    return CoefficientGradient(m, P, regain, exposure, noise, ring_y, reading_var, day_var)


class _Totals:
    """Sums of column-wise derivatives into parameters, one sum for each of M parameter sets."""

    def __init__(self, block: Block, n_sets: int) -> None:
        self.n_sets = n_sets
        self.column_set = np.repeat(np.arange(n_sets), block.n_columns // n_sets)

    def scalar(self, values: Floats) -> Floats:
        """(C,) or (J, C) to (M,)."""
        flat = values if values.ndim == 1 else values.sum(0)
        return flat.reshape(self.n_sets, -1).sum(1)

    def table(self, values: Floats, index: Ints, column: Ints, size: int) -> Floats:
        """Values (n,) with the row of the table and the column they belong to, to (size, M)."""
        place = index * self.n_sets + self.column_set[column]
        sums: Floats = np.bincount(place, values, minlength=size * self.n_sets).astype(float)
        return sums.reshape(size, self.n_sets)


def _cleaning_gradient(
    block: Block, p: PortfolioParams, regain: Floats, noise: Floats, totals: _Totals, sets: Ints | None
) -> dict[str, Floats]:
    step, column = np.nonzero(block.cleaning >= 0)
    method, share = block.cleaning[step, column], block.share[step, column]
    by_rho = share * regain[step, column]
    sd = take(p.sd_clean, method, None if sets is None else sets[column])
    size = p.rho.shape[0]
    return {
        "rho": totals.table(by_rho, method, column, size),
        "wet": totals.table(-by_rho * block.wet[step, column], method, column, size),
        "sd_clean": totals.table(2.0 * sd * share * noise[step, column], method, column, size),
    }


def _start_gradient(
    block: Block, p: PortfolioParams, g: CoefficientGradient, totals: _Totals
) -> tuple[dict[str, Floats], Floats]:
    """By the parameters of the state at opening, and by the variance of a location."""
    columns = np.arange(block.n_columns)
    kinds = p.mu_b.shape[0]
    located = sum(
        (
            block.offset_named[i] * g.cov0[DAY_STATE + 1 + i, DAY_STATE + 1 + i]
            for i in range(len(block.offset_var))
        ),
        np.zeros(block.n_columns),
    )
    parts = {
        "mu_b": totals.table(g.mean0[0] + g.mean0[1], block.surface_type, columns, kinds),
        "mu_lam": totals.table(g.mean0[2], block.surface_type, columns, kinds),
        "beta": np.stack([totals.scalar(g.mean0[2] * z) for z in block.z]),
        "tau_b": 2.0 * p.tau_b * totals.scalar(g.cov0[:2, :2].sum((0, 1))),
        "tau_lam": 2.0 * p.tau_lam * totals.scalar(g.cov0[2, 2]),
    }
    return parts, totals.scalar(located)


def _clock_gradient(block: Block, p: PortfolioParams, exposure_bar: Floats, sets: Ints | None) -> Floats:
    """(J, C) by the clock exponent: d s / d p = s log(t / T), summed by parts over the steps."""
    log_age = np.where(np.isfinite(block.log_age), block.log_age, 0.0)
    clock = np.exp(broadcast(p.clock, sets) * block.log_age)
    later = np.concatenate([exposure_bar[1:], np.zeros((1, block.n_columns))])
    return priors.CLOCK_REFERENCE_YR * clock * log_age * (exposure_bar - later)


def _within_gradient(
    block: Block, p: PortfolioParams, totals: _Totals, sets: Ints | None
) -> tuple[Floats, Floats]:
    """Of `within_loglik` by the variance at chosen spots and at fixed locations, (M,) each."""
    spot_var = broadcast(p.sd_spot, sets) ** 2
    variances = (spot_var, spot_var * (1.0 - broadcast(p.location_share, sets)))
    slopes = [
        totals.scalar(-0.5 * (block.degrees[i] / var - block.squares[i] / var**2))
        for i, var in enumerate(variances)
    ]
    return slopes[0], slopes[1]


def _spot_gradient(
    block: Block, p: PortfolioParams, reading_bar: Floats, located: Floats, totals: _Totals, sets: Ints | None
) -> dict[str, Floats]:
    chosen_within, fixed_within = _within_gradient(block, p, totals, sets)
    by_mean = reading_bar * block.inv_n
    named = totals.scalar(by_mean * block.named)
    share, spot_var = p.location_share, p.sd_spot**2
    by_var = (
        totals.scalar(by_mean)
        - share * named
        + chosen_within
        + (1.0 - share) * fixed_within
        + share * located
    )
    return {
        "sd_spot": 2.0 * p.sd_spot * by_var,
        "location_share": spot_var * (located - named - fixed_within),
    }


def _offset_gradient(block: Block, p: PortfolioParams, ring_y_bar: Floats, totals: _Totals) -> Floats:
    step, column = np.nonzero(block.method > 0)
    return totals.table(-ring_y_bar[step, column], block.method[step, column], column, p.offset.shape[0])


def parameter_gradient(
    block: Block, p: PortfolioParams, c: Coefficients, g: CoefficientGradient
) -> PortfolioParams:
    """Collect the derivatives by coefficients into derivatives by portfolio parameters, (., M) each."""
    sets = column_sets(block, p)
    totals = _Totals(block, p.clock.shape[-1])
    drift = broadcast(p.drift_var, sets)
    kept = 1.0 - c.regain
    regain_bar = g.regain - 2.0 * kept * drift * block.dt * g.noise
    parts, located = _start_gradient(block, p, g, totals)
    day_bar = totals.scalar(block.day * g.reading_var) + totals.scalar(g.day_var)
    return PortfolioParams(
        **parts,
        **_cleaning_gradient(block, p, regain_bar, g.noise, totals, sets),
        **_spot_gradient(block, p, g.reading_var, located, totals, sets),
        clock=totals.scalar(_clock_gradient(block, p, g.exposure, sets)),
        drift_var=totals.scalar(kept**2 * block.dt * g.noise),
        sd_day=2.0 * p.sd_day * day_bar,
        offset=_offset_gradient(block, p, g.ring_y, totals),
    )


def block_loglik_gradient(block: Block, vector: Floats) -> tuple[Floats, Floats]:
    """Log-likelihood (M,) of the block and its gradient (d, M) at M vectors (d, M); the block holds M tiles."""
    params = to_params(vector)
    c = coefficients(block, params)
    f = run_filter(block, c)
    n_sets = params.clock.shape[-1]
    loglik = (f.loglik + within_loglik(block, params)).reshape(n_sets, -1).sum(1)
    natural = parameter_gradient(block, params, c, filter_gradient(block, c, f))
    return loglik, to_vector_gradient(params, natural)


def portfolio_loglik_gradient(blocks: Sequence[Block], vector: Floats) -> tuple[Floats, Floats]:
    """The same, summed over blocks; several blocks share the processor's cores."""
    results = on_all_cores(lambda block: block_loglik_gradient(block, vector), blocks)
    n_sets = 1 if vector.ndim == 1 else vector.shape[1]
    loglik = sum((part[0] for part in results), np.zeros(n_sets))
    return loglik, sum((part[1] for part in results), np.zeros((vector.shape[0], n_sets)))
