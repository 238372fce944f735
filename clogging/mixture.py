"""Quantiles and probabilities of a mixture of normals: one normal a draw of the portfolio parameters."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from . import priors
from .packing import Floats, Ints
from .types import Estimate

PROBABILITIES: Floats = np.array([0.025, 0.10, 0.50, 0.90, 0.975])
_SMALLEST = 1e-300
_ROOT_2PI = float(np.sqrt(2.0 * np.pi))
_MOST_ROUNDS = 60
_WIDE = 1e3
_CLOSE = 1e-2  # Halley cubes the error, so a last step of this size leaves less than 1e-5
_NARROW = (
    0.1  # beside a part narrower than this the distribution bends sooner, and the last step must be smaller
)
_HALVED = 200.0  # halving leaves an error as long as its step
_SMALLEST_STEP = 1e-4  # of _CLOSE; a part as narrow as a point would never be close enough
_OUTERMOST, _LINES = 9.0, 1024.0  # sds that the table of the normal reaches to, and its lines a sd
_TABLE = ndtr(np.arange(-_OUTERMOST, _OUTERMOST, 1.0 / _LINES))
_RISES = np.append(np.diff(_TABLE), 0.0)
_LEAST_SD = 1e-12
_NUMBERS_AT_ONCE = 12_288  # parts of mixtures looked at in one go, so that they stay in the processor's cache
_SAME_CHANCE = 1e-7  # less than a quantile is off by


def probability_below(limit: ArrayLike, mean: Floats, sd: Floats) -> Floats:
    """P(value < limit) of equal-weight mixtures; mean and sd (..., M), limit as (...)."""
    away = (np.asarray(limit)[..., None] - mean) / np.maximum(sd, _LEAST_SD)
    return ndtr(away).mean(-1)


def _first_guess(mean: Floats, sd: Floats, z: Floats) -> Floats:
    """Cornish-Fisher quantiles from the mixture's first four moments (Johnson, Kotz & Balakrishnan 1994, 12.5)."""
    centre = mean.mean(-1, keepdims=True)
    away, var = mean - centre, sd * sd
    square = away * away
    overall_var = (square + var).mean(-1)
    skew = ((square + 3.0 * var) * away).mean(-1) / overall_var**1.5
    excess = ((square + 6.0 * var) * square + 3.0 * var * var).mean(-1) / overall_var**2 - 3.0
    skew, excess = skew[..., None], excess[..., None]
    bent = (
        z
        + (z**2 - 1.0) * skew / 6.0
        + (z**3 - 3.0 * z) * excess / 24.0
        - (2.0 * z**3 - 5.0 * z) * skew**2 / 36.0
    )
    return centre + np.sqrt(overall_var)[..., None] * bent


class Mixture(NamedTuple):
    """Equal-weight mixtures of M normals; (..., M) each."""

    mean: Floats
    sd: Floats


def quantiles(mean: Floats, sd: Floats, probabilities: Floats = PROBABILITIES) -> Floats:
    """Quantiles (..., Q) of equal-weight mixtures of normals with mean and sd (..., M).

    Halley's steps on the normal scale, where the mixture's distribution is nearly a straight line, inside a bracket
    that every evaluation narrows: the smallest and the largest quantile of the parts hold that of the whole. Where a
    step would leave the bracket, or is not half as long as the one before, the bracket is halved instead (Press et al.
    2007, Numerical Recipes, 3rd ed., 9.4): beside a narrow part it would go to and fro for ever. Correct to about
    1e-5 of the unit of the mean, or of the bracket where that is wider than _WIDE. Parts without any width are points,
    whose quantiles are their order statistics.
    """
    shape, z = mean.shape[:-1], ndtri(probabilities)
    parts = Mixture(mean.reshape(-1, mean.shape[-1]), sd.reshape(-1, mean.shape[-1]))
    out, wide = np.empty((parts.mean.shape[0], z.size)), parts.sd.any(-1)
    points = ~wide
    if points.any():
        out[points] = _order_statistics(parts.mean[points], probabilities)
        if points.all():
            return out.reshape(*shape, z.size)
        parts = Mixture(*(part[wide] for part in parts))
    parts = parts._replace(sd=np.maximum(parts.sd, _LEAST_SD))
    row, level = np.divmod(np.arange(parts.mean.shape[0] * z.size), z.size)
    out[wide] = _solve(parts, row, z[level], _first_guess(*parts, z).ravel()).reshape(-1, z.size)
    return out.reshape(*shape, z.size)


def _order_statistics(values: Floats, probabilities: Floats) -> Floats:
    """(n, Q) quantiles of points (n, M): where a probability falls between two of them, their mean."""
    place = probabilities * values.shape[-1]
    between = np.abs(place - np.rint(place)) < 1e-9
    above = np.where(between, np.rint(place), np.floor(place)).astype(np.int64)
    ordered, last = np.sort(values, axis=-1), values.shape[-1] - 1
    lower, upper = np.clip(above - between, 0, last), np.clip(above, 0, last)
    return 0.5 * (ordered[:, lower] + ordered[:, upper])


def quantiles_of_all(mixtures: Sequence[Mixture]) -> list[Floats]:
    """`quantiles` (n, Q) of several mixtures (n, M), found together, which costs little more than those of one."""
    found = quantiles(*(np.concatenate(part) for part in zip(*mixtures, strict=True)))
    return np.split(found, np.cumsum([len(each.mean) for each in mixtures])[:-1])


def lower_quantiles(found: Floats, other: Mixture) -> Floats:
    """found (..., 5), the quantiles of mixtures, or those of the others (..., M) where these lie lower.

    They do only where the other lies below what was found with more than the asked chance, so that few are looked for.
    """
    out = found.reshape(-1, found.shape[-1]).copy()
    other = Mixture(*(part.reshape(-1, part.shape[-1]) for part in other))
    row, level = np.nonzero(_chances(out, other) > PROBABILITIES + _SAME_CHANCE)
    at_most = out[row, level]
    asked, each = Mixture(other.mean[row], other.sd[row]), np.arange(row.size)
    out[row, level] = np.minimum(_solve(asked, each, ndtri(PROBABILITIES)[level], at_most), at_most)
    return out.reshape(found.shape)


def _chances(values: Floats, parts: Mixture) -> Floats:
    """(n, Q) chance of being below values (n, Q) of mixtures (n, M); some at a time, for the cache's sake."""
    out, inverse = np.empty_like(values), 1.0 / np.maximum(parts.sd, _LEAST_SD)
    at_once = max(1, _NUMBERS_AT_ONCE // (values.shape[-1] * inverse.shape[-1]))
    for i in range(0, len(values), at_once):
        some = slice(i, i + at_once)
        away = values[some, :, None] - parts.mean[some, None]
        away *= inverse[some, None]
        start, share, rise = _normal(away)
        out[some] = start.mean(-1) + np.vecdot(share, rise) / inverse.shape[-1]
    return out


def believed_quantiles(falling: Mixture, kept: Mixture) -> Floats:
    """Quantiles (..., 5) of whichever of two mixtures (..., M) lies lower at each."""
    return lower_quantiles(quantiles(*falling), kept)


def _solve(parts: Mixture, row: Ints, z: Floats, start: Floats) -> Floats:
    """Quantiles (R,) at standard normals z (R,) of the mixtures parts[row], from start."""
    if not row.size:
        return start
    sd = np.maximum(parts.sd, _LEAST_SD)
    narrowest = sd.min(-1)[row]
    # A part's quantile is mean + z sd, so the bracket needs no search.
    reach = z * narrowest, z * sd.max(-1)[row]
    low = parts.mean.min(-1)[row] + np.minimum(*reach)
    high = parts.mean.max(-1)[row] + np.maximum(*reach)
    value, lost = start.copy(), np.flatnonzero(~((start >= low) & (start <= high)))
    if lost.size:
        value[lost] = np.median(parts.mean[row[lost]] + z[lost, None] * sd[row[lost]], axis=-1)
    close = _CLOSE * np.clip(narrowest / _NARROW, _SMALLEST_STEP, 1.0)
    inverse, stride, at = 1.0 / sd, np.full_like(value, np.inf), np.arange(value.size)
    for _ in range(_MOST_ROUNDS):
        now = value[at]
        heights = _heights(now, parts.mean, inverse, row[at])
        moved, bracket, quick = _narrow(now, stride[at], (low[at], high[at]), heights, z[at])
        step = np.abs(moved - now)
        value[at], stride[at], (low[at], high[at]) = moved, step, bracket
        wide = np.maximum(1.0, (bracket[1] - bracket[0]) / _WIDE)
        at = at[np.where(quick, step, step * _HALVED) > close[at] * wide]
        if not at.size:
            break
    return value


def _narrow(
    value: Floats, stride: Floats, bracket: tuple[Floats, Floats], heights: Floats, z: Floats
) -> tuple[Floats, tuple[Floats, Floats], NDArray[np.bool_]]:
    """One step of each quantile (R,) towards its place, the narrower bracket, and where Halley made the step.

    stride: length of the step before. heights: (3, R) as `_heights`. On the normal scale the level bends by the
    slope of the density and by its own square.
    """
    below, density, bend = heights
    level = ndtri(np.clip(below, _SMALLEST, 1.0 - 1e-16))
    low = np.where(level <= z, value, bracket[0])
    high = np.where(level >= z, value, bracket[1])
    density, scale = np.maximum(density, _SMALLEST), np.exp(-0.5 * level * level) / _ROOT_2PI
    newton = (level - z) * scale / density
    # Twice the share by which the slope of the level changes over the step; far off it may say anything.
    change = np.clip(newton * (level * density / scale - bend / density), -1.0, 1.0)
    step = newton / (1.0 - 0.5 * change)
    moved = value - step
    good = (moved >= low) & (moved <= high) & (np.abs(step) <= 0.5 * stride)
    return np.where(good, moved, 0.5 * (low + high)), (low, high), good


def _heights(value: Floats, mean: Floats, inverse: Floats, row: Ints) -> Floats:
    """(3, R) chance below value (R,), the density there and minus its slope, of the mixtures of row (R,).

    mean and the inverse of the sds: (P, M). Some at a time, which stay in the processor's cache.
    """
    out, at_once = np.empty((3, row.size)), max(1, _NUMBERS_AT_ONCE // mean.shape[-1])
    for i in range(0, row.size, at_once):
        some = slice(i, i + at_once)
        out[:, some] = _heights_of_some(value[some], mean[row[some]], inverse[row[some]])
    return out


def _heights_of_some(value: Floats, mean: Floats, inverse: Floats) -> tuple[Floats, Floats, Floats]:
    even = np.full(mean.shape[-1], 1.0 / mean.shape[-1])
    away = value[:, None] - mean
    away *= inverse
    start, share, rise = _normal(away)
    below = start @ even + np.vecdot(share, rise) * even[0]
    rise *= inverse
    away *= inverse
    return below, (rise @ even) * _LINES, np.vecdot(rise, away) * (_LINES * even[0])


def _normal(away: Floats) -> tuple[Floats, Floats, Floats]:
    """A standard normal as a straight line between the lines of a table: start + share rise, to 3e-8.

    rise: to the next line, so that _LINES times it is the density to 1e-4.
    """
    share = away * _LINES
    share += _OUTERMOST * _LINES
    np.minimum(np.maximum(share, 0.0, out=share), _TABLE.size - 2.0, out=share)
    whole = np.floor(share)
    share -= whole
    line = whole.astype(np.intp)
    return _TABLE.take(line, mode="clip"), share, _RISES.take(line, mode="clip")


def rates_at(log_rates: Floats) -> Floats:
    """Rates in mm/h of log rates. A surface below priors.SEALED_MM_H is sealed, and is said to be there."""
    return np.clip(np.exp(np.clip(log_rates, -700.0, 700.0)), priors.SEALED_MM_H, priors.FASTEST_MM_H)


def to_estimate(values: Floats) -> Estimate:
    """Values at PROBABILITIES as an Estimate."""
    lo95, lo80, median, hi80, hi95 = (float(v) for v in values)
    return Estimate(median, lo80, hi80, lo95, hi95)
