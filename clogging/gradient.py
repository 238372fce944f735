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

from .blocks import OFFSETS_AT, Block
from .coefficients import Change, Coefficients, Move, broadcast, coefficients, column_sets, pace_of, take
from .decline import Passage, passage_gradient
from .filtering import Filtered, advance, pull_back, run_filter, seen_by, within_loglik
from .packing import BELOW, EXACT, Floats, Ints
from .parallel import on_all_cores
from .parameters import PortfolioParams, to_params, to_vector_gradient


class CoefficientGradient(NamedTuple):
    """Derivatives of the log-likelihood by fields of Coefficients, same shapes."""

    mean0: Floats
    cov0: Floats
    move: Move
    changes: tuple[Change, ...]
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
    across, own_var, level = seen_by(block, j, f.before_cov[j], f.before_mean[j])
    var = own_var + c.reading_var[j]
    e, k = f.gain_e[j], f.gain_k[j]
    p_across = (P * across).sum(1)
    e_bar, k_bar = (m * across).sum(0), -(across * p_across).sum(0)
    pull = _pull_reading(block, j, c.ring_y[j] - level, var, (e, k), (e_bar, k_bar))
    across_bar = m * e - 2.0 * k * p_across
    if block.reads is None:
        for i in block.adds:
            across_bar[i] += pull.variance
            m[i] -= pull.innovation
        for i in block.adds:
            P[i] += 0.5 * across_bar
            P[:, i] += 0.5 * across_bar
    else:
        reads = block.reads[j]
        across_bar += reads * pull.variance
        m -= reads * pull.innovation
        P += 0.5 * (across_bar[:, None] * reads + reads[:, None] * across_bar)
    return pull


def _back_through_change(
    change: Change, move: Move, mean: Floats, cov: Floats, m: Floats, P: Floats
) -> Change:
    """Update m and P in place to before `change_columns`; derivatives by its scale, shift and covariance.

    mean, cov: the state before the move that came first.
    """
    at = change.columns
    if not at.size:
        return change
    mean, cov = mean[:, at], cov[:, :, at]
    advance(mean, cov, Move(*(field[at] for field in move)))
    shift, added = m[:3, at], P[:3, :3, at]
    across = P[:3, :, at] * cov[:3]
    across[:, :3] *= change.scale
    scale = shift * mean[:3] + 2.0 * across.sum(1)
    m[:3, at] *= change.scale
    P[:3, :, at] *= change.scale[:, None]
    P[:, :3, at] *= change.scale
    return Change(at, scale, shift, added)


def _back_through_move(move: Move, mean: Floats, cov: Floats, m: Floats, P: Floats) -> Move:
    """Update m and P in place to before `advance`; derivatives by the fields of move.

    mean, cov: the state that went in.
    """
    x_row = move.kept * cov[0, :3] + move.onto * cov[1, :3] + move.fall * cov[2, :3]
    b_row = cov[1, :3] - move.sink * cov[2, :3]
    x_bar = m[0] * mean[:3] + 2.0 * (
        P[0, 0] * x_row + P[0, 1] * b_row + (P[0, 2:, None] * cov[2:, :3]).sum(0)
    )
    b_bar = m[1] * mean[2] + 2.0 * (P[1, 0] * x_row[2] + P[1, 1] * b_row[2] + (P[1, 2:] * cov[2:, 2]).sum(0))
    bars = Move(x_bar[0], x_bar[1], x_bar[2], -b_bar, P[0, 0].copy())
    pull_back(move, m)
    pull_back(move, P)
    pull_back(move, P.swapaxes(0, 1))
    return bars


def _back_through_day(reset: Floats, m: Floats, P: Floats) -> Floats:
    kept = 1.0 - reset
    day_var_bar = reset * P[-1, -1]
    m[-1] *= kept
    P[-1] *= kept
    P[:, -1] *= kept
    return day_var_bar


def filter_gradient(block: Block, c: Coefficients, f: Filtered) -> CoefficientGradient:
    """Derivatives of the summed `Filtered.loglik` by every coefficient, column by column."""
    m, P = np.zeros_like(c.mean0), np.zeros_like(c.cov0)
    ring_y, reading_var, *fields = (np.empty_like(block.y) for _ in range(7))
    day_var, changes = np.zeros(block.n_columns), list(c.changes)
    for j in reversed(range(block.y.shape[0])):
        pull = _back_through_reading(block, j, c, f, m, P)
        ring_y[j], reading_var[j] = pull.innovation, pull.variance
        if block.has_day:
            day_var += _back_through_day(block.reset[j], m, P)
        move, state = Move(*(field[j] for field in c.move)), (f.after_mean[j], f.after_cov[j])
        changes[j] = _back_through_change(c.changes[j], move, *state, m, P)
        for field, bar in zip(fields, _back_through_move(move, *state, m, P), strict=True):
            field[j] = bar
    return CoefficientGradient(m, P, Move(*fields), tuple(changes), ring_y, reading_var, day_var)


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
            block.offset_named[i] * g.cov0[OFFSETS_AT + i, OFFSETS_AT + i]
            for i in range(len(block.offset_var))
        ),
        np.zeros(block.n_columns),
    )
    both = totals.scalar(g.cov0[:2, 2].sum(0) + g.cov0[2, :2].sum(0))
    parts = {
        "mu_b": totals.table(g.mean0[0] + g.mean0[1], block.surface_type, columns, kinds),
        "mu_lam": totals.table(g.mean0[2], block.surface_type, columns, kinds),
        "beta": np.stack([totals.scalar(g.mean0[2] * z) for z in block.z]),
        "tau_b": 2.0 * p.tau_b * totals.scalar(g.cov0[:2, :2].sum((0, 1))) + p.corr * p.tau_lam * both,
        "tau_lam": 2.0 * p.tau_lam * totals.scalar(g.cov0[2, 2]) + p.corr * p.tau_b * both,
        "corr": p.tau_b * p.tau_lam * both,
    }
    return parts, totals.scalar(located)


def _pace_gradient(
    block: Block, p: PortfolioParams, c: Coefficients, g: Move, totals: _Totals, sets: Ints | None
) -> tuple[dict[str, Floats], Floats]:
    """By the parameters of the decline, and (J, C) by the share each step gives back."""
    left, by_kept = 1.0 - c.regain, g.kept - g.onto
    span = Passage(left * by_kept, -left * g.fall, g.sink - c.regain * g.fall, left**2 * g.noise)
    pace = passage_gradient(pace_of(block, p, sets), block.dt, span)
    columns = np.arange(block.n_columns)
    regain = (
        -c.span.keep * by_kept + (c.span.fall - c.span.sink) * g.fall - 2.0 * left * c.span.noise * g.noise
    )
    parts = {
        "kappa": totals.table(pace.kappa.sum(0), block.surface_type, columns, p.kappa.shape[0]),
        "gamma": totals.scalar(pace.gamma),
        "drift_var": totals.scalar(pace.drift_var),
    }
    return parts, regain


def _change_gradient(
    block: Block,
    p: PortfolioParams,
    c: Coefficients,
    g: CoefficientGradient,
    bars: tuple[Floats, Floats],
    totals: _Totals,
    sets: Ints | None,
) -> dict[str, Floats]:
    """By the parameters that only changes know; what they share with cleanings goes into bars (regain, noise)."""
    kinds, sources = p.mu_b.shape[0], p.source_factor.shape[0]
    parts = {
        "mu_b": np.zeros((kinds, totals.n_sets)),
        "tau_b": np.zeros((1, totals.n_sets)),
        "source_factor": np.zeros((sources, totals.n_sets)),
        "sd_source": np.zeros((sources, totals.n_sets)),
    }
    for j, (change, bar) in enumerate(zip(c.changes, g.changes, strict=True)):
        at = change.columns
        if not at.size:
            continue
        own = None if sets is None else sets[at]
        regain, share = 1.0 - change.scale[0], 1.0 - change.scale[1]
        kind, tau = block.surface_type[at], broadcast(p.tau_b, own)
        source, known = block.source[j, at] >= 0, np.maximum(block.source[j, at], 0)
        xx, xb, bb = bar.cov[0, 0], bar.cov[0, 1] + bar.cov[1, 0], bar.cov[1, 1]
        bars[0][j, at] = (
            -bar.scale[0] + take(p.mu_b, kind, own) * bar.shift[0] + tau**2 * (2.0 * regain * xx + share * xb)
        )
        bars[1][j, at] = xx
        by_tau = 2.0 * tau * (regain**2 * xx + regain * share * xb + share**2 * bb)
        by_sd = 2.0 * source * take(p.sd_source, known, own) * bar.cov[2, 2]
        parts["mu_b"] += totals.table(regain * bar.shift[0] + share * bar.shift[1], kind, at, kinds)
        parts["tau_b"] += totals.table(by_tau, 0 * kind, at, 1)
        parts["source_factor"] += totals.table(source * bar.scale[2], known, at, sources)
        parts["sd_source"] += totals.table(by_sd, known, at, sources)
    return parts


def _within_gradient(
    block: Block, p: PortfolioParams, totals: _Totals, sets: Ints | None
) -> tuple[Floats, Floats, Floats]:
    """Of `within_loglik` by the variance at chosen spots, at fixed ones, and of a location itself, (M,) each."""
    spot_var = broadcast(p.sd_spot, sets) ** 2
    located = spot_var * broadcast(p.location_share, sets)
    variances = (spot_var, spot_var - located)
    chosen, fixed = (-0.5 * (block.degrees[i] / v - block.squares[i] / v**2) for i, v in enumerate(variances))
    rounds, degrees, between = block.spots
    both = variances[1] + rounds * located
    by_both = -0.5 * (degrees / both - between / both**2)
    return totals.scalar(chosen), totals.scalar(fixed + by_both), totals.scalar(rounds * by_both)


def _spot_gradient(
    block: Block, p: PortfolioParams, reading_bar: Floats, located: Floats, totals: _Totals, sets: Ints | None
) -> dict[str, Floats]:
    chosen_within, fixed_within, between = _within_gradient(block, p, totals, sets)
    located = located + between
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
    totals = _Totals(block, p.n_sets)
    pace, regain_bar = _pace_gradient(block, p, c, g.move, totals, sets)
    noise_bar = g.move.noise.copy()
    changed = _change_gradient(block, p, c, g, (regain_bar, noise_bar), totals, sets)
    parts, located = _start_gradient(block, p, g, totals)
    parts["mu_b"] += changed.pop("mu_b")
    parts["tau_b"] += changed.pop("tau_b")[0]
    day_bar = totals.scalar(block.day * g.reading_var) + totals.scalar(g.day_var)
    return PortfolioParams(
        **parts,
        **pace,
        **changed,
        **_cleaning_gradient(block, p, regain_bar, noise_bar, totals, sets),
        **_spot_gradient(block, p, g.reading_var, located, totals, sets),
        sd_day=2.0 * p.sd_day * day_bar,
        offset=_offset_gradient(block, p, g.ring_y, totals),
    )


def block_loglik_gradient(block: Block, vector: Floats) -> tuple[Floats, Floats]:
    """Log-likelihood (M,) of the block and its gradient (d, M) at M vectors (d, M); the block holds M tiles."""
    params = to_params(vector)
    c = coefficients(block, params)
    f = run_filter(block, c)
    n_sets = params.n_sets
    loglik = (f.loglik + within_loglik(block, params)).reshape(n_sets, -1).sum(1)
    natural = parameter_gradient(block, params, c, filter_gradient(block, c, f))
    return loglik, to_vector_gradient(params, natural)


def portfolio_loglik_gradient(blocks: Sequence[Block], vector: Floats) -> tuple[Floats, Floats]:
    """The same, summed over blocks; several blocks share the processor's cores."""
    results = on_all_cores(lambda block: block_loglik_gradient(block, vector), blocks)
    n_sets = 1 if vector.ndim == 1 else vector.shape[1]
    loglik = sum((part[0] for part in results), np.zeros(n_sets))
    return loglik, sum((part[1] for part in results), np.zeros((vector.shape[0], n_sets)))
