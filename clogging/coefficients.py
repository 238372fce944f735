"""From portfolio parameters to the numbers each step of each surface needs."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .blocks import OFFSETS_AT, Block
from .decline import Pace, Passage, passage
from .packing import Floats, Ints
from .parameters import PortfolioParams


class Move(NamedTuple):
    """Time and cleaning in one step: x <- kept x + onto b + fall lam + N(0, noise), b <- b - sink lam; (..., C)."""

    kept: Floats
    onto: Floats
    fall: Floats
    sink: Floats
    noise: Floats


class Change(NamedTuple):
    """A renewal or a change of source in n columns: (x, b, lam) <- scale (x, b, lam) + shift + N(0, cov).

    columns: (n,); scale, shift: (3, n); cov: (3, 3, n)
    """

    columns: Ints
    scale: Floats
    shift: Floats
    cov: Floats


_UNCHANGED = Change(np.zeros(0, dtype=np.int64), np.zeros((3, 0)), np.zeros((3, 0)), np.zeros((3, 3, 0)))


class Coefficients(NamedTuple):
    """What the filter needs of a block under given parameters; C columns, J steps, D states.

    mean0: (D, C), cov0: (D, D, C) state at opening
    span: (J, C) each, the time since the step before; regain: (J, C) share of the lost log rate given back where
        the layer stays; move: (J, C) each, both together
    changes: (J,) what happens besides, to some columns
    ring_y: (J, C) readings less the offset of their test method; reading_var: (J, C) their variance given the state
    day_var: (C,) variance of a new day effect
    """

    mean0: Floats
    cov0: Floats
    span: Passage
    regain: Floats
    move: Move
    changes: tuple[Change, ...]
    ring_y: Floats
    reading_var: Floats
    day_var: Floats


def column_sets(block: Block, params: PortfolioParams) -> Ints | None:
    """(C,) which parameter set each column uses; None when there is one set for all."""
    n_sets = params.n_sets
    return None if n_sets == 1 else np.repeat(np.arange(n_sets), block.n_columns // n_sets)


def take(table: Floats, index: Ints, sets: Ints | None) -> Floats:
    """table[index] for a (k, M) table, each column from its own parameter set."""
    return table[index, 0] if sets is None else table[index, sets]


def broadcast(values: Floats, sets: Ints | None) -> Floats:
    """A scalar parameter (M,) as one value a column, or (1,) when there is one set for all."""
    return values if sets is None else values[sets]


def pace_of(block: Block, params: PortfolioParams, sets: Ints | None) -> Pace:
    """How each column declines."""
    return Pace(
        take(params.kappa, block.surface_type, sets),
        broadcast(params.gamma, sets),
        broadcast(params.drift_var, sets),
    )


def _start(block: Block, params: PortfolioParams, sets: Ints | None) -> tuple[Floats, Floats]:
    size, columns = block.n_states, block.n_columns
    mean, cov = np.zeros((size, columns)), np.zeros((size, size, columns))
    mean[:2] = take(params.mu_b, block.surface_type, sets)
    slopes = params.beta if sets is None else params.beta[:, sets]
    mean[2] = take(params.mu_lam, block.surface_type, sets) + (slopes * block.z).sum(0)
    cov[:2, :2] = broadcast(params.tau_b, sets) ** 2
    cov[:2, 2] = cov[2, :2] = broadcast(params.corr * params.tau_b * params.tau_lam, sets)
    cov[2, 2] = broadcast(params.tau_lam, sets) ** 2
    located = broadcast(params.location_share * params.sd_spot**2, sets)
    for i in range(block.offset_var.shape[0]):
        at = OFFSETS_AT + i
        cov[at, at] = block.offset_var[i] + block.offset_named[i] * located
    return mean, cov


def cleaned_share(block: Block, params: PortfolioParams, sets: Ints | None) -> tuple[Floats, Floats]:
    """(J, C) share of the lost log rate each step gives back, and the variance it adds."""
    regain, noise = np.zeros(block.share.shape), np.zeros(block.share.shape)
    step, column = np.nonzero(block.cleaning >= 0)
    method, share = block.cleaning[step, column], block.share[step, column]
    own = None if sets is None else sets[column]
    rho = take(params.rho, method, own) - block.wet[step, column] * take(params.wet, method, own)
    regain[step, column] = share * rho
    noise[step, column] = share * take(params.sd_clean, method, own) ** 2
    return regain, noise


def move_of(span: Passage, regain: Floats, noise: Floats) -> Move:
    """A span of time, then a cleaning: x <- x + regain (b - x) + N(0, noise)."""
    left = 1.0 - regain
    kept = left * span.keep
    return Move(
        kept,
        1.0 - kept,
        -left * span.fall - regain * span.sink,
        span.sink,
        noise + left**2 * span.noise,
    )


def renewal(share: Floats, regain: Floats, noise: Floats, new: Floats, tau_b: Floats) -> tuple[Floats, ...]:
    """Scale, shift and covariance of a renewal of a share of the area, whose rate as new is drawn anew.

    x <- x + regain (b' - x) + N(0, noise) and b <- b + share (b' - b) with b' ~ N(new, tau_b^2); all (n,).
    """
    one, none = np.ones_like(share), np.zeros_like(share)
    scale = np.stack([1.0 - regain, 1.0 - share, one])
    pull = np.stack([regain, share, none])
    cov = pull[:, None] * pull * tau_b**2
    cov[0, 0] += noise
    return scale, pull * new, cov


def _change(
    block: Block, j: int, params: PortfolioParams, sets: Ints | None, regain: Floats, noise: Floats
) -> Change:
    at = block.changed[j]
    own = None if sets is None else sets[at]
    new = take(params.mu_b, block.surface_type[at], own)
    scale, shift, cov = renewal(
        block.share[j, at], regain[j, at], noise[j, at], new, broadcast(params.tau_b, own)
    )
    kind = block.source[j, at]
    changed, known = kind >= 0, np.maximum(kind, 0)
    scale[2] = np.where(changed, take(params.source_factor, known, own), 1.0)
    cov[2, 2] = np.where(changed, take(params.sd_source, known, own) ** 2, 0.0)
    return Change(at, scale, shift, cov)


def _changes(
    block: Block, params: PortfolioParams, sets: Ints | None, regain: Floats, noise: Floats
) -> tuple[Change, ...]:
    """The changes of every step; takes what they do out of regain and noise, in place."""
    changes = tuple(
        _change(block, j, params, sets, regain, noise) if at.size else _UNCHANGED
        for j, at in enumerate(block.changed)
    )
    for j, at in enumerate(block.changed):
        regain[j, at] = noise[j, at] = 0.0
    return changes


def coefficients(block: Block, params: PortfolioParams) -> Coefficients:
    """Turn portfolio parameters into the numbers each step of each column needs.

    With M parameter sets the block must hold M tiles of its surfaces (`blocks.tile`).
    """
    sets = column_sets(block, params)
    mean0, cov0 = _start(block, params, sets)
    span = passage(pace_of(block, params, sets), block.dt)
    regain, noise = cleaned_share(block, params, sets)
    changes = _changes(block, params, sets, regain, noise)
    day_var, spot_var = broadcast(params.sd_day, sets) ** 2, broadcast(params.sd_spot, sets) ** 2
    spots = block.inv_n
    if block.n_states > OFFSETS_AT:
        spots = spots * (1.0 - block.named * broadcast(params.location_share, sets))
    return Coefficients(
        mean0,
        cov0,
        span,
        regain,
        move_of(span, regain, noise),
        changes,
        block.y - take(params.offset, np.maximum(block.method, 0), sets) if block.has_offsets else block.y,
        block.day * day_var + spots * spot_var + block.fixed_var,
        np.broadcast_to(day_var, (block.n_columns,)),
    )
