"""The decline of one surface between two dates, in closed form.

With u = x - b the loss of log rate (0 as new, below 0 later), lam the decline of an open surface, kappa its change
with the loss and gamma the share of a loss that lasts:

    dx = -(lam + kappa (x - b)) dt + sqrt(q) dW,    db = -gamma lam dt.

kappa > 0 slows the decline towards b - lam / kappa, kappa < 0 speeds it up, and either starts again by itself when
a cleaning lifts x towards b. Everything is linear in (x, b, lam), so a span of any length is one matrix and one
variance, exact for a span cut anywhere. Source of the integral: Gardiner (2009), Stochastic Methods, 4th ed., 4.5.4.
"""

from __future__ import annotations

from math import factorial
from typing import NamedTuple

import numpy as np

from .packing import Floats

_STEEPEST = 60.0  # kappa times years: beyond e^60 a rate has no meaning and squares would overflow
_NEAR_ZERO = 0.3  # below it the series of the slope is exact to the last digit and its closed form is not
_TERMS = 13
_SLOPE_SERIES = [(-1.0) ** n * n / factorial(n + 1) for n in range(1, _TERMS + 1)]


def mean_decay(z: Floats) -> Floats:
    """(1 - e^-z) / z, the mean of e^-t over t in [0, z]; 1 at 0."""
    safe = np.where(z == 0.0, 1.0, z)
    return np.where(z == 0.0, 1.0, -np.expm1(-safe) / safe)


def mean_decay_slope(z: Floats) -> Floats:
    """Derivative of `mean_decay` by z; -1/2 at 0."""
    small = np.abs(z) < _NEAR_ZERO
    near, far = np.where(small, z, 0.0), np.where(small, 1.0, z)
    series = np.zeros_like(near)
    for c in reversed(_SLOPE_SERIES):
        series = series * near + c
    return np.where(small, series, (np.exp(-far) * (1.0 + far) - 1.0) / far**2)


class Pace(NamedTuple):
    """What moves a surface between events: kappa and drift_var a year, gamma a share; (C,) or broadcast to it."""

    kappa: Floats
    gamma: Floats
    drift_var: Floats


class Passage(NamedTuple):
    """A span of time as x <- keep x + (1 - keep) b - fall lam + N(0, noise), b <- b - sink lam; all (..., C)."""

    keep: Floats
    fall: Floats
    sink: Floats
    noise: Floats


def _steepness(kappa: Floats, years: Floats) -> Floats:
    return np.clip(kappa * years, -_STEEPEST, _STEEPEST)


def passage(pace: Pace, years: Floats) -> Passage:
    """The effect of a span of years (..., C) or (..., 1), 0 or more."""
    z = _steepness(pace.kappa, years)
    lost = np.expm1(-z)
    with np.errstate(invalid="ignore"):
        decay = np.where(z == 0.0, 1.0, -lost / z)
    open_years, sink = years * decay, pace.gamma * years
    return Passage(
        1.0 + lost,
        sink + (1.0 - pace.gamma) * open_years,
        sink,
        pace.drift_var
        * open_years
        * (1.0 + 0.5 * lost),  # (1 - e^-2z) / 2z = (1 - e^-z) / z times half of 1 + e^-z
    )


def then(first: Passage, second: Passage) -> Passage:
    """Two spans, one after the other, as one."""
    return Passage(
        second.keep * first.keep,
        second.keep * first.fall + (1.0 - second.keep) * first.sink + second.fall,
        first.sink + second.sink,
        second.keep**2 * first.noise + second.noise,
    )


def passage_ahead(pace: Pace, years: Floats, above: Floats, lam: Floats) -> Passage:
    """The effect of a span on surfaces whose mean stands above (log rate over that as new, x - b) with decline lam.

    Where the decline speeds up with the loss (kappa below 0), a surface read faster than as new would rise without
    end by the same equation: no surface opens by itself. It falls evenly until it is as new, then as the equation
    says. Still exact for a span cut anywhere, since the day it is as new does not depend on the cut.
    """
    slide = (1.0 - pace.gamma) * lam
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        back_yr = np.where(slide > 0.0, above / slide, np.inf)
    first = np.where((pace.kappa < 0.0) & (above > 0.0), np.minimum(years, back_yr), 0.0)
    if not first.any():  # as on all surfaces that slow down or stand below the rate as new
        return passage(pace, years)
    even = pace._replace(kappa=np.zeros_like(pace.kappa))
    return then(passage(even, first), passage(pace, years - first))


def log_rate_after(span: Passage, mean: Floats, cov: Floats) -> tuple[Floats, Floats]:
    """Mean and variance (...) of x after a span from x, b and lam of mean (3, ...) and covariance (3, 3, ...)."""
    x, b, lam = mean
    keep, onto, fall = span.keep, 1.0 - span.keep, -span.fall
    var = keep**2 * cov[0, 0] + onto**2 * cov[1, 1] + fall**2 * cov[2, 2] + span.noise
    var += 2.0 * (keep * onto * cov[0, 1] + keep * fall * cov[0, 2] + onto * fall * cov[1, 2])
    return keep * x + onto * b + fall * lam, var


def passage_gradient(pace: Pace, years: Floats, bar: Passage) -> Pace:
    """Derivatives by kappa, gamma and drift_var, (..., C) each, from those by the fields of `passage`."""
    z = _steepness(pace.kappa, years)
    open_years = years * mean_decay(z)
    by_open_years = (1.0 - pace.gamma) * bar.fall
    by_z = (
        -np.exp(-z) * bar.keep
        + years * mean_decay_slope(z) * by_open_years
        + 2.0 * pace.drift_var * years * mean_decay_slope(2.0 * z) * bar.noise
    )
    return Pace(
        years * by_z,
        years * bar.sink + (years - open_years) * bar.fall,
        years * mean_decay(2.0 * z) * bar.noise,
    )
