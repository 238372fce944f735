"""Quantiles and probabilities of a mixture of normals: one normal a draw of the portfolio parameters."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from .packing import Floats
from .types import Estimate

PROBABILITIES: Floats = np.array([0.025, 0.10, 0.50, 0.90, 0.975])
_SMALLEST = 1e-300
_MOST_ROUNDS = 12
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

    Newton on the normal scale, where the mixture's distribution is nearly a straight line; every step is
    held between the smallest and the largest quantile of the parts, which bracket that of the whole.
    Correct to about 1e-5 of the unit of the mean.
    """
    sd = np.maximum(sd, 1e-12)
    z = ndtri(probabilities)
    # A part's quantile is mean + z sd, so the bracket needs no search.
    parts = mean[..., None, :] + z[:, None] * sd[..., None, :]
    low, high = parts.min(-1), parts.max(-1)
    value = np.clip(_first_guess(mean, sd, z), low, high)
    inverse = 1.0 / sd
    for _ in range(_MOST_ROUNDS):
        away = (value[..., None] - mean[..., None, :]) * inverse[..., None, :]
        below = np.clip(ndtr(away).mean(-1), _SMALLEST, 1.0 - 1e-16)
        density = (np.exp(-0.5 * away * away) @ inverse[..., None])[..., 0] / mean.shape[-1]
        level = ndtri(below)
        step = (level - z) * np.exp(-0.5 * level * level) / np.maximum(density, _SMALLEST)
        moved = np.clip(value - step, low, high)
        done = np.abs(moved - value).max(initial=0.0) < _CLOSE
        value = moved
        if done:
            break
    return value


def rate_estimates(mean: Floats, sd: Floats) -> Floats:
    """(..., 5) rates in mm/h at PROBABILITIES from log means and sds (..., M)."""
    return np.exp(np.clip(quantiles(mean, sd), -700.0, 700.0))


def to_estimate(values: Floats) -> Estimate:
    """Values at PROBABILITIES as an Estimate."""
    lo95, lo80, median, hi80, hi95 = (float(v) for v in values)
    return Estimate(median, lo80, hi80, lo95, hi95)
