"""Quantiles and probabilities of a mixture of normals: one normal a draw of the fleet parameters."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from .packing import Floats
from .types import Estimate

PROBABILITIES: Floats = np.array([0.025, 0.10, 0.50, 0.90, 0.975])
_SMALLEST = 1e-300


def probability_below(limit: ArrayLike, mean: Floats, sd: Floats) -> Floats:
    """P(value < limit) of equal-weight mixtures; mean and sd (..., M), limit as (...)."""
    away = (np.asarray(limit)[..., None] - mean) / np.maximum(sd, 1e-12)
    return ndtr(away).mean(-1)


def quantiles(mean: Floats, sd: Floats, probabilities: Floats = PROBABILITIES, rounds: int = 4) -> Floats:
    """Quantiles (..., Q) of equal-weight mixtures of normals with mean and sd (..., M).

    Newton on the normal scale, where the mixture's distribution is nearly a straight line; every step is
    held between the smallest and the largest quantile of the parts, which bracket that of the whole.
    """
    sd = np.maximum(sd, 1e-12)
    z = ndtri(probabilities)
    centre = mean.mean(-1)
    overall = np.sqrt((sd**2).mean(-1) + mean.var(-1))
    value = centre[..., None] + overall[..., None] * z
    # A part's quantile is mean + z sd, so the bracket needs no search.
    parts = mean[..., None, :] + z[:, None] * sd[..., None, :]
    low, high = parts.min(-1), parts.max(-1)
    for _ in range(rounds):
        away = (value[..., None] - mean[..., None, :]) / sd[..., None, :]
        below = np.clip(ndtr(away).mean(-1), _SMALLEST, 1.0 - 1e-16)
        density = (np.exp(-0.5 * away**2) / sd[..., None, :]).mean(-1)
        level = ndtri(below)
        step = (level - z) * np.exp(-0.5 * level**2) / np.maximum(density, _SMALLEST)
        value = np.clip(value - step, low, high)
    return value


def rate_estimates(mean: Floats, sd: Floats) -> Floats:
    """(..., 5) rates in mm/h at PROBABILITIES from log means and sds (..., M)."""
    return np.exp(np.clip(quantiles(mean, sd), -700.0, 700.0))


def to_estimate(values: Floats) -> Estimate:
    """Values at PROBABILITIES as an Estimate."""
    lo95, lo80, median, hi80, hi95 = (float(v) for v in values)
    return Estimate(median, lo80, hi80, lo95, hi95)
