"""A forecast read on a later day, while nothing was recorded and nothing it rests on has changed.

Nothing being done, what the model expects of a day does not depend on the day it is asked: the forecast of a later day
is the rest of the curve. Between two dates of it a rate is read on the log scale and a chance on the normal scale, by a
monotone cubic, as days are read off it elsewhere. Against a forecast made anew on the later day this errs by less than
0.5 % of a rate and 0.005 of a chance (tests/maintenance/services/test_nights.py).
"""

from dataclasses import replace
from datetime import date

import numpy as np
import scipy  # interpolate is loaded when first named
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from maintenance.calc.forecast_payload import ForecastOutlook, Range, RateCurve

_TINY = 1e-12
_RATES = ("median", "lo80", "hi80", "lo95", "hi95")


def as_of(outlook: ForecastOutlook, day: date) -> ForecastOutlook:
    """The outlook from a day on; the same where the day lies before its curve or after it."""
    future = outlook.future
    if not future.on or not future.on[0] < day < future.on[-1]:
        return outlook
    rates, below = _at(outlook, day)
    passed = sum(on <= day for on in future.on)
    kept = [getattr(future, name)[passed:] for name in _RATES]
    behind = [getattr(outlook.past, name) for name in _RATES]
    return replace(
        outlook,
        rate_now_mm_h=Range(*rates),
        past=RateCurve(
            (*outlook.past.on, day), *((*line, rate) for line, rate in zip(behind, rates, strict=True))
        ),
        future=RateCurve(
            (day, *future.on[passed:]), *((rate, *line) for line, rate in zip(kept, rates, strict=True))
        ),
        below=(below, *outlook.below[passed:]),
    )


def _at(outlook: ForecastOutlook, day: date) -> tuple[list[float], float]:
    """Rates in the order of a curve, mm/h to five digits as stored, and the chance of being below, on a day."""
    future = outlook.future
    last = sum(on <= day for on in future.on)
    near = slice(max(last - 3, 0), last + 3)
    days = np.array([(on - future.on[0]).days for on in future.on[near]], dtype=float)
    logs = np.log([getattr(future, name)[near] for name in _RATES])
    scores = ndtri(np.clip(outlook.below[near], _TINY, 1.0 - _TINY))
    read = _read(days, np.vstack([logs, scores]), float((day - future.on[0]).days))
    return [float(f"{rate:.5g}") for rate in np.exp(read[:-1])], round(float(ndtr(read[-1])), 5)


def _read(days: NDArray[np.float64], lines: NDArray[np.float64], at: float) -> NDArray[np.float64]:
    return np.asarray(scipy.interpolate.PchipInterpolator(days, lines, axis=1)(at))
