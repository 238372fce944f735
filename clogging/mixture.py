"""Quantiles and probabilities of a mixture of normals: one normal a draw of the portfolio parameters."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from . import priors
from .packing import Floats
from .types import Estimate

PROBABILITIES: Floats = np.array([0.025, 0.10, 0.50, 0.90, 0.975])
_SMALLEST = 1e-300
_MOST_ROUNDS = 60
_WIDE = 1e3
_CLOSE = 1e-2  # Halley cubes the error, so a last step of this size leaves less than 1e-5
_NARROW = (
    0.1  # beside a part narrower than this the distribution bends sooner, and the last step must be smaller
)
_HALVED = 200.0  # halving leaves an error as long as its step
_SMALLEST_STEP = 1e-4  # of _CLOSE; a part as narrow as a point would never be close enough


def probability_below(limit: ArrayLike, mean: Floats, sd: Floats) -> Floats:
    """P(value < limit) of equal-weight mixtures; mean and sd (..., M), limit as (...)."""
    away = (np.asarray(limit)[..., None] - mean) / np.maximum(sd, 1e-12)
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


def quantiles(mean: Floats, sd: Floats, probabilities: Floats = PROBABILITIES) -> Floats:
    """Quantiles (..., Q) of equal-weight mixtures of normals with mean and sd (..., M).

    Halley's steps on the normal scale, where the mixture's distribution is nearly a straight line, inside a bracket
    that every evaluation narrows: the smallest and the largest quantile of the parts hold that of the whole. Where a
    step would leave the bracket, or is not half as long as the one before, the bracket is halved instead (Press et al.
    2007, Numerical Recipes, 3rd ed., 9.4): beside a narrow part it would go to and fro for ever. Correct to about
    1e-5 of the unit of the mean, or of the bracket where that is wider than _WIDE. Parts without any width are points,
    whose quantiles are their order statistics.
    """
    if not np.any(sd):
        return np.moveaxis(np.quantile(mean, probabilities, axis=-1, method="averaged_inverted_cdf"), 0, -1)
    shape = mean.shape[:-1]
    flat_mean, flat_sd = mean.reshape(-1, mean.shape[-1]), np.maximum(sd, 1e-12).reshape(-1, mean.shape[-1])
    z = ndtri(probabilities)
    # A part's quantile is mean + z sd, so the bracket needs no search.
    parts = flat_mean[:, None, :] + z[:, None] * flat_sd[:, None, :]
    low, high = parts.min(-1), parts.max(-1)
    value = _first_guess(flat_mean, flat_sd, z)
    lost = ~((value >= low) & (value <= high))
    if lost.any():
        value = np.where(lost, np.median(parts, axis=-1), value)
    inverse = 1.0 / flat_sd
    close = _CLOSE * np.clip(flat_sd.min(-1) / _NARROW, _SMALLEST_STEP, 1.0)
    stride = np.full_like(value, np.inf)
    at = np.nonzero(np.ones(value.shape, dtype=bool))
    for _ in range(_MOST_ROUNDS):
        if not at[0].size:
            break
        parts_at, bracket = (flat_mean[at[0]], inverse[at[0]]), (low[at], high[at])
        moved, bracket, quick = _narrow(value[at], stride[at], bracket, parts_at, z[at[1]])
        stride[at] = np.abs(moved - value[at])
        value[at], (low[at], high[at]) = moved, bracket
        wide = np.maximum(1.0, (bracket[1] - bracket[0]) / _WIDE)
        far = np.where(quick, stride[at], stride[at] * _HALVED) > close[at[0]] * wide
        at = (at[0][far], at[1][far])
    return value.reshape(*shape, z.size)


def _narrow(
    value: Floats, stride: Floats, bracket: tuple[Floats, Floats], parts: tuple[Floats, Floats], z: Floats
) -> tuple[Floats, tuple[Floats, Floats], NDArray[np.bool_]]:
    """One step of each quantile (R,) towards its place, the narrower bracket, and where Halley made the step.

    stride: length of the step before. parts: their means and the inverse of their sds, (R, M). On the normal scale the
    level bends by the slope of the density and by its own square.
    """
    mean, inverse = parts
    away = (value[:, None] - mean) * inverse
    below = np.clip(ndtr(away).mean(-1), _SMALLEST, 1.0 - 1e-16)
    heights = np.exp(-0.5 * away * away) * inverse
    density = np.maximum(heights.mean(-1), _SMALLEST)
    bend = -np.einsum("rm,rm,rm->r", heights, away, inverse) / mean.shape[-1]
    level = ndtri(below)
    low = np.where(level <= z, value, bracket[0])
    high = np.where(level >= z, value, bracket[1])
    newton = (level - z) * np.exp(-0.5 * level * level) / density
    # Twice the share by which the slope of the level changes over the step; far off it may say anything.
    change = np.clip(newton * (bend / density + level * density * np.exp(0.5 * level * level)), -1.0, 1.0)
    step = newton / (1.0 - 0.5 * change)
    moved = value - step
    good = (moved >= low) & (moved <= high) & (np.abs(step) <= 0.5 * stride)
    return np.where(good, moved, 0.5 * (low + high)), (low, high), good


def rate_estimates(mean: Floats, sd: Floats) -> Floats:
    """(..., 5) rates in mm/h at PROBABILITIES from log means and sds (..., M).

    A surface below priors.SEALED_MM_H is sealed, and is said to be there.
    """
    return np.clip(
        np.exp(np.clip(quantiles(mean, sd), -700.0, 700.0)), priors.SEALED_MM_H, priors.FASTEST_MM_H
    )


def to_estimate(values: Floats) -> Estimate:
    """Values at PROBABILITIES as an Estimate."""
    lo95, lo80, median, hi80, hi95 = (float(v) for v in values)
    return Estimate(median, lo80, hi80, lo95, hi95)
