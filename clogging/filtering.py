"""The exact Kalman filter of all surfaces of a block at once, and its smoother.

State of one surface: x log rate now, b log rate as new, lam decline a year of an open surface; in larger states a
day effect and constant offsets follow. Arrays carry surfaces in their last axis, so every line below works
on thousands of surfaces; the only loop is over the steps.

Sources: Durbin & Koopman (2012), Time Series Analysis by State Space Methods, 2nd ed., ch. 4 (filter, and
the smoother in its form without inverses, 4.4). Inequalities: the normal is matched to the first two moments
of the truncated one, Johnson, Kotz & Balakrishnan (1994), Continuous Univariate Distributions, vol. 1, 13.10.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.special import erfcx, log_ndtr

from .blocks import Block
from .coefficients import Change, Coefficients, Move, broadcast, coefficients, column_sets
from .packing import BELOW, EXACT, Floats
from .parameters import PortfolioParams

LOG_2PI = float(np.log(2.0 * np.pi))
_SQRT_2_OVER_PI = float(np.sqrt(2.0 / np.pi))


class Filtered(NamedTuple):
    """States before (predicted) and after each reading; index 0 of `after` is the state at opening.

    before_mean: (J, D, C), before_cov: (J, D, D, C); after_mean: (J + 1, D, C), after_cov: (J + 1, D, D, C)
    gain_e: (J, C) innovation over its variance; gain_k: (J, C) what a reading takes off the covariance
    loglik: (C,) natural log of the density of all readings
    """

    before_mean: Floats
    before_cov: Floats
    after_mean: Floats
    after_cov: Floats
    gain_e: Floats
    gain_k: Floats
    loglik: Floats


class Reading(NamedTuple):
    """How one reading moves the state: mean += cov h e, cov -= (cov h)(cov h)' k, loglik += l. All (C,)."""

    e: Floats
    k: Floats
    loglik: Floats


def advance(mean: Floats, cov: Floats, move: Move) -> None:
    """Time, then cleaning, in place; fields of move (C,)."""
    kept, onto, fall, sink, noise = move
    mean[0] = kept * mean[0] + onto * mean[1] + fall * mean[2]
    mean[1] -= sink * mean[2]
    x_row = kept * cov[0] + onto * cov[1] + fall * cov[2]
    b_row = cov[1] - sink * cov[2]
    x_row[0] = kept * x_row[0] + onto * x_row[1] + fall * x_row[2] + noise
    x_row[1] -= sink * x_row[2]
    b_row[0] = x_row[1]
    b_row[1] -= sink * b_row[2]
    cov[0], cov[1] = x_row, b_row
    cov[:, 0], cov[:, 1] = x_row, b_row


def change_columns(mean: Floats, cov: Floats, change: Change) -> None:
    """A renewal or a change of source, in place."""
    at = change.columns
    if at.size:
        mean[:3, at] = change.scale * mean[:3, at] + change.shift
        cov[:3, :, at] *= change.scale[:, None]
        cov[:, :3, at] *= change.scale
        cov[:3, :3, at] += change.cov


def draw_day(mean: Floats, cov: Floats, reset: Floats, day_var: Floats) -> None:
    """Replace the day effect by a new, independent one where reset is 1, in place."""
    kept = 1.0 - reset
    mean[-1] *= kept
    cov[-1] *= kept
    cov[:, -1] *= kept
    cov[-1, -1] += reset * day_var


def truncated(alpha: Floats) -> tuple[Floats, Floats]:
    """Of a standard normal below alpha: minus its mean, and what is missing of its variance from 1."""
    hazard = _SQRT_2_OVER_PI / erfcx(-alpha * np.sqrt(0.5))
    return hazard, np.clip(hazard * (hazard + alpha), 0.0, 1.0)


def read(block: Block, j: int, innovation: Floats, variance: Floats) -> Reading:
    """Take in the reading of step j: exact, an upper bound, a lower bound, or none."""
    exact = block.exact[j]
    k = exact / variance
    e = k * innovation
    loglik = -0.5 * (exact * np.log((2.0 * np.pi) * variance) + e * innovation)
    if block.has_bounds:
        code = block.code[j]
        bounded = np.flatnonzero(code > EXACT)
        sign = np.where(code[bounded] == BELOW, 1.0, -1.0)
        sd = np.sqrt(variance[bounded])
        alpha = sign * innovation[bounded] / sd
        hazard, missing = truncated(alpha)
        e[bounded] = -sign * hazard / sd
        k[bounded] = missing / variance[bounded]
        loglik[bounded] = log_ndtr(alpha)
    return Reading(e, k, loglik)


def seen_by(block: Block, j: int, cov: Floats, mean: Floats) -> tuple[Floats, Floats, Floats]:
    """cov h (D, C), h' cov h (C,) and h' mean (C,) for the states h that the reading of step j adds up."""
    if block.reads is not None:
        reads = block.reads[j]
        across = (cov * reads).sum(1)
        return across, (across * reads).sum(0), (mean * reads).sum(0)
    if block.adds == (0,):
        return cov[:, 0], cov[0, 0], mean[0]
    first, second = block.adds
    across = cov[:, first] + cov[:, second]
    return across, across[first] + across[second], mean[first] + mean[second]


def within_loglik(block: Block, params: PortfolioParams) -> Floats:
    """(C,) density of the tests about their means, which the means alone leave out."""
    sets = column_sets(block, params)
    spot_var = broadcast(params.sd_spot, sets) ** 2
    fixed_var = spot_var * (1.0 - broadcast(params.location_share, sets))
    total = -0.5 * block.log_n
    for i, var in enumerate((spot_var, fixed_var)):
        total = total - 0.5 * (block.degrees[i] * (np.log(var) + LOG_2PI) + block.squares[i] / var)
    rounds, degrees, between = block.spots
    var = fixed_var + rounds * (spot_var - fixed_var)
    return total - 0.5 * (degrees * (np.log(var) + LOG_2PI) + between / var)


def _to_reading(block: Block, c: Coefficients, j: int, mean: Floats, cov: Floats) -> None:
    """Carry the state from after step j - 1 to just before the reading of step j, in place."""
    advance(mean, cov, Move(*(field[j] for field in c.move)))
    change_columns(mean, cov, c.changes[j])
    if block.has_day:
        draw_day(mean, cov, block.reset[j], c.day_var)


def _take_reading(block: Block, c: Coefficients, j: int, mean: Floats, cov: Floats) -> tuple[Floats, Reading]:
    """cov h of the reading of step j, and what the reading does."""
    across, var, level = seen_by(block, j, cov, mean)
    return across, read(block, j, c.ring_y[j] - level, var + c.reading_var[j])


def run_filter(block: Block, c: Coefficients) -> Filtered:
    """Filter every column, keeping the states on the way.

    The log-likelihood is that of the means and inequalities; `within_loglik` adds the rest.
    """
    n_steps, columns, size = block.y.shape[0], block.n_columns, block.n_states
    means, covs = np.empty((n_steps, size, columns)), np.empty((n_steps, size, size, columns))
    after_mean, after_cov = (
        np.empty((n_steps + 1, size, columns)),
        np.empty((n_steps + 1, size, size, columns)),
    )
    gain_e, gain_k = np.empty((n_steps, columns)), np.empty((n_steps, columns))
    loglik = np.zeros(columns)
    after_mean[0], after_cov[0] = c.mean0, c.cov0
    for j in range(n_steps):
        mean, cov = means[j], covs[j]
        mean[:], cov[:] = after_mean[j], after_cov[j]
        _to_reading(block, c, j, mean, cov)
        across, step = _take_reading(block, c, j, mean, cov)
        after_mean[j + 1] = mean + across * step.e
        np.multiply(across[:, None] * step.k, across[None], out=after_cov[j + 1])
        np.subtract(cov, after_cov[j + 1], out=after_cov[j + 1])
        gain_e[j], gain_k[j] = step.e, step.k
        loglik += step.loglik
    return Filtered(means, covs, after_mean, after_cov, gain_e, gain_k, loglik)


class Final(NamedTuple):
    """State after the last reading, (D, C) and (D, D, C), and the log-likelihood (C,) as in Filtered."""

    mean: Floats
    cov: Floats
    loglik: Floats


def run_to_end(block: Block, c: Coefficients) -> Final:
    """`run_filter` without the states on the way, for large portfolios."""
    mean, cov, loglik = c.mean0.copy(), c.cov0.copy(), np.zeros(block.n_columns)
    for j in range(block.y.shape[0]):
        _to_reading(block, c, j, mean, cov)
        across, step = _take_reading(block, c, j, mean, cov)
        mean += across * step.e
        cov -= (across * step.k)[:, None] * across
        loglik += step.loglik
    return Final(mean, cov, loglik)


def log_likelihood(block: Block, params: PortfolioParams) -> Floats:
    """(C,) log density of every test of every column."""
    return run_to_end(block, coefficients(block, params)).loglik + within_loglik(block, params)


class Smoothed(NamedTuple):
    """What later readings say about the state; add to a filtered state as mean + P r, P - P N P.

    before_r: (J, D, C), before_n: (J, D, D, C) with the reading of step j itself;
    after_r: (J + 1, D, C), after_n: (J + 1, D, D, C) with later readings only
    """

    before_r: Floats
    before_n: Floats
    after_r: Floats
    after_n: Floats


def pull_forward(move: Move, rows: Floats) -> None:
    """rows (D, ..., C) <- F rows in place, F the matrix of `advance`."""
    rows[0] = move.kept * rows[0] + move.onto * rows[1] + move.fall * rows[2]
    rows[1] -= move.sink * rows[2]


def pull_back(move: Move, rows: Floats) -> None:
    """rows (D, ..., C) <- F' rows in place, F the matrix of `advance`."""
    lead, second = rows[0].copy(), rows[1].copy()
    rows[0] = move.kept * lead
    rows[1] += move.onto * lead
    rows[2] += move.fall * lead - move.sink * second


def _transitions(block: Block, c: Coefficients) -> Floats:
    """(J, D, D, C) what each step makes of the state up to its reading, as one matrix a column."""
    out = np.zeros((len(block.t), block.n_states, block.n_states, block.n_columns))
    out[:, range(block.n_states), range(block.n_states)] = 1.0
    out[:, 0, 0], out[:, 0, 1], out[:, 0, 2] = c.move.kept, c.move.onto, c.move.fall
    out[:, 1, 2] = -c.move.sink
    for change, matrix in zip(c.changes, out, strict=True):
        if change.columns.size:
            matrix[:3, :, change.columns] *= change.scale[:, None]
    if block.has_day:
        out[:, -1] *= 1.0 - block.reset[:, None]
    return out


def _carried_back(matrix: Floats, told: Floats) -> Floats:
    """[F' N F, F' r] of [N, r] (..., D, D + 1, C) and matrices F (..., D, D, C)."""
    out: Floats = np.einsum("...abm,...adm->...bdm", matrix, told)
    out[..., :-1, :] = np.einsum("...bam,...adm->...bdm", out[..., :-1, :], matrix)
    return out


def smooth(block: Block, c: Coefficients, f: Filtered) -> Smoothed:
    """Run backwards over the readings. Inequalities enter as the normal readings they were matched to."""
    n_steps, size = len(block.t), block.n_states
    reads, step = all_reads(block), _transitions(block, c)
    told = np.empty((n_steps, size, size + 1, block.n_columns))  # N and r beside it
    np.multiply(reads[:, :, None], (reads * f.gain_k[:, None])[:, None], out=told[:, :, :-1])
    np.multiply(reads, f.gain_e[:, None], out=told[:, :, -1])
    taken = np.einsum("jabm,jbm->jam", f.before_cov, reads) * f.gain_k[:, None]
    # What a reading leaves of the state is I - taken reads'; then comes the next step.
    through = step[1:] - np.einsum("jabm,jbm->jam", step[1:], taken[:-1])[:, :, None] * reads[:-1, None]
    for j in reversed(range(n_steps - 1)):
        told[j] += _carried_back(through[j], told[j + 1])
    after = np.zeros((n_steps + 1, *told.shape[1:]))
    after[:-1] = _carried_back(step, told)
    return Smoothed(told[:, :, -1], told[:, :, :-1], after[:, :, -1], after[:, :, :-1])


def all_reads(block: Block) -> Floats:
    """(J, D, C) weight of each state in each reading."""
    if block.reads is not None:
        return block.reads
    reads: Floats = np.zeros((len(block.t), block.n_states, block.n_columns))
    reads[:, list(block.adds)] = 1.0
    return reads
