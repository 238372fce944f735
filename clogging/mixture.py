"""Quantiles and probabilities of a mixture of normals: one normal a draw of the portfolio parameters."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from . import priors
from .packing import Floats
from .types import Estimate

PROBABILITIES: Floats = np.array([0.025, 0.10, 0.50, 0.90, 0.975])
_SMALLEST = 1e-300
_MOST_ROUNDS = 60
_WIDE = 1e3
_CLOSE = 2e-3  # Newton squares the error, so a last step of this size leaves about 1e-5


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

    Newton on the normal scale, where the mixture's distribution is nearly a straight line, inside a bracket that
    every evaluation narrows: the smallest and the largest quantile of the parts hold that of the whole. Where a
    step would leave the bracket it is halved, so parts of very different widths do no harm. Correct to about 1e-5
    of the unit of the mean, or of the bracket where that is wider than _WIDE.
    """
    shape = mean.shape[:-1]
    flat_mean, flat_sd = mean.reshape(-1, mean.shape[-1]), np.maximum(sd, 1e-12).reshape(-1, mean.shape[-1])
    z = ndtri(probabilities)
    # A part's quantile is mean + z sd, so the bracket needs no search.
    parts = flat_mean[:, None, :] + z[:, None] * flat_sd[:, None, :]
    low, high = parts.min(-1), parts.max(-1)
    value = _first_guess(flat_mean, flat_sd, z)
    value = np.where((value >= low) & (value <= high), value, np.median(parts, axis=-1))
    inverse = 1.0 / flat_sd
    rows = np.arange(len(value))
    for _ in range(_MOST_ROUNDS):
        if not rows.size:
            break
        bracket = (low[rows], high[rows])
        moved, bracket = _narrow(value[rows], bracket, flat_mean[rows], inverse[rows], z)
        far = np.abs(moved - value[rows]) > _CLOSE * np.maximum(1.0, (bracket[1] - bracket[0]) / _WIDE)
        value[rows], (low[rows], high[rows]) = moved, bracket
        rows = rows[far.any(-1)]
    return value.reshape(*shape, z.size)


def _narrow(
    value: Floats, bracket: tuple[Floats, Floats], mean: Floats, inverse: Floats, z: Floats
) -> tuple[Floats, tuple[Floats, Floats]]:
    """One step of each quantile (R, Q) towards its place, and the narrower bracket."""
    away = (value[..., None] - mean[:, None, :]) * inverse[:, None, :]
    below = np.clip(ndtr(away).mean(-1), _SMALLEST, 1.0 - 1e-16)
    density = (np.exp(-0.5 * away * away) @ inverse[..., None])[..., 0] / mean.shape[-1]
    level = ndtri(below)
    low = np.where(level <= z, value, bracket[0])
    high = np.where(level >= z, value, bracket[1])
    step = (level - z) * np.exp(-0.5 * level * level) / np.maximum(density, _SMALLEST)
    moved = value - step
    return np.where((moved >= low) & (moved <= high), moved, 0.5 * (low + high)), (low, high)


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
