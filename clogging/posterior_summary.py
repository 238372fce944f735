"""What a portfolio's records taught, beside what was believed before: the portfolio parameters in plain quantities.

Each parameter is normal on its own scale (see `parameters`); a monotone change of scale carries its quantiles
over, so the ranges here are exact for the fitted normal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from . import priors
from .fitting import PortfolioFit
from .parameters import ENTRIES, INDEX, PRIOR_MEAN, PRIOR_SD, natural
from .types import Estimate

_Z = np.array([0.0, -1.2815515655446004, 1.2815515655446004, -1.959963984540054, 1.959963984540054])


class ParameterSummary(NamedTuple):
    """One portfolio parameter, now and before any record.

    head: what it is (a key of QUANTITIES); key: surface type, condition or method, "" where there is one only
    now, before: in the unit of QUANTITIES[head]
    sd_reduction: share by which the records narrowed it [0-1]; 0 when they say nothing about it
    source: where the belief before comes from
    """

    head: str
    key: str
    now: Estimate
    before: Estimate
    sd_reduction: float
    source: str


class Quantity(NamedTuple):
    """How a parameter is shown: from its natural value to a number with a unit."""

    shown: Callable[[float], float]
    unit: str


def _percent_a_year(decline: float) -> float:
    return 100.0 * (1.0 - float(np.exp(-decline)))


def _factor(sd: float) -> float:
    return float(np.exp(sd))


QUANTITIES: dict[str, Quantity] = {
    "mu_b": Quantity(_factor, "mm/h"),
    "mu_lam": Quantity(_percent_a_year, "% a year"),
    "beta": Quantity(_percent_a_year, "% a year more"),
    "clock": Quantity(float, "exponent"),
    "tau_b": Quantity(_factor, "times up or down"),
    "tau_lam": Quantity(_percent_a_year, "% a year up or down"),
    "sd_day": Quantity(_factor, "times up or down"),
    "sd_spot": Quantity(_factor, "times up or down"),
    "location_share": Quantity(lambda share: 100.0 * share, "% of the scatter"),
    "rho": Quantity(float, "share"),
    "wet": Quantity(float, "share less"),
    "offset": Quantity(_factor, "times the ring"),
}


def summarise_posterior(fit: PortfolioFit) -> tuple[ParameterSummary, ...]:
    """Every portfolio parameter that has a plain meaning, in the order of `parameters.ENTRIES`."""
    return tuple(_learnt(fit, entry.name) for entry in ENTRIES if entry.name.split(":")[0] in QUANTITIES)


def _learnt(fit: PortfolioFit, name: str) -> ParameterSummary:
    at, (head, _, key) = INDEX[name], name.partition(":")
    sd = float(np.sqrt(fit.covariance[at, at]))
    return ParameterSummary(
        head,
        key,
        Estimate(*_quantiles(at, head, float(fit.mode[at]), sd)),
        Estimate(*_quantiles(at, head, float(PRIOR_MEAN[at]), float(PRIOR_SD[at]))),
        max(0.0, 1.0 - sd / float(PRIOR_SD[at])),
        _source(head, key),
    )


def _quantiles(at: int, head: str, mean: float, sd: float) -> Iterator[float]:
    vectors = np.repeat(PRIOR_MEAN[:, None], len(_Z), axis=1)
    vectors[at] = mean + sd * _Z
    return (QUANTITIES[head].shown(float(value)) for value in natural(vectors)[at])


def _source(head: str, key: str) -> str:
    scales = {
        "clock": "clock",
        "tau_b": "as_new_scatter",
        "tau_lam": "decline_scatter",
        "sd_day": "day_scatter",
        "sd_spot": "spot_scatter",
    }
    if head in scales:
        return priors.SCALES[scales[head]].source
    if head == "location_share":
        return priors.LOCATION_SHARE.source
    tables = {
        "mu_b": priors.SURFACES,
        "mu_lam": priors.SURFACES,
        "beta": priors.CONDITIONS,
        "rho": priors.CLEANINGS,
        "wet": priors.CLEANINGS,
        "offset": priors.METHODS,
    }
    return tables[head][key].source  # type: ignore[index]
