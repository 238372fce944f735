"""What a portfolio's records taught, beside what was believed before: the portfolio parameters in plain quantities.

Each parameter is normal on its own scale (see `parameters`); a monotone change of scale carries its quantiles
over, so the ranges here are exact for the fitted normal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

from core.calc.translation import gettext_noop

from . import priors
from .fitting import PortfolioFit
from .parameters import ENTRIES, INDEX, PRIOR_MEAN, PRIOR_SD, kappa_of_shape, natural, shape_of_kappa
from .types import SURFACE_TYPES, Estimate

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
    "mu_lam": Quantity(_percent_a_year, gettext_noop("% a year")),
    "beta": Quantity(_percent_a_year, gettext_noop("% a year more")),
    "kappa": Quantity(float, "a year"),
    "gamma": Quantity(lambda share: 100.0 * share, gettext_noop("% of each loss")),
    "corr": Quantity(float, gettext_noop("correlation")),
    "tau_b": Quantity(_factor, gettext_noop("times up or down")),
    "tau_lam": Quantity(_percent_a_year, gettext_noop("% a year up or down")),
    "sd_day": Quantity(_factor, gettext_noop("times up or down")),
    "sd_spot": Quantity(_factor, gettext_noop("times up or down")),
    "location_share": Quantity(lambda share: 100.0 * share, gettext_noop("% of the scatter")),
    "rho": Quantity(float, gettext_noop("share")),
    "wet": Quantity(float, gettext_noop("share less")),
    "offset": Quantity(_factor, gettext_noop("times the ring")),
    "source_factor": Quantity(float, gettext_noop("times the loss before")),
}


def summarise_posterior(fit: PortfolioFit) -> tuple[ParameterSummary, ...]:
    """Every portfolio parameter that has a plain meaning, in the order of `parameters.ENTRIES`.

    kappa, the shape of the decline, stands once for each surface type.
    """
    names = [
        entry.name for entry in ENTRIES if entry.name.split(":")[0] in (QUANTITIES.keys() | {"kappa_kind"})
    ]
    return tuple(_learnt(fit, name) for name in names if name != "kappa")


def _learnt(fit: PortfolioFit, name: str) -> ParameterSummary:
    head, _, key = name.partition(":")
    head = "kappa" if head == "kappa_kind" else head
    parts = [INDEX["kappa"], INDEX[name]] if head == "kappa" else [INDEX[name]]
    mean, sd = float(fit.mode[parts].sum()), float(np.sqrt(fit.covariance[np.ix_(parts, parts)].sum()))
    prior_mean, prior_sd = float(PRIOR_MEAN[parts].sum()), float(np.sqrt((PRIOR_SD[parts] ** 2).sum()))
    return ParameterSummary(
        head,
        key,
        Estimate(*_quantiles(parts[0], head, mean, sd)),
        Estimate(*_quantiles(parts[0], head, prior_mean, prior_sd)),
        max(0.0, 1.0 - sd / prior_sd),
        _source(head, key),
    )


def _quantiles(at: int, head: str, mean: float, sd: float) -> Iterator[float]:
    values = mean + sd * _Z
    if head == "kappa":
        return (float(value) for value in kappa_of_shape(values))
    vectors = np.repeat(PRIOR_MEAN[:, None], len(_Z), axis=1)
    vectors[at] = values
    return (QUANTITIES[head].shown(float(value)) for value in natural(vectors)[at])


class ShapeSupport(NamedTuple):
    """Which shape of decline the records support for one surface type.

    kappa: change of the decline with the loss, a year
    slows, even, speeds_up: chance of each, that is of kappa above EVEN_WITHIN, inside it and below minus it
    before: the same three before any record
    shape: the one the records speak for most ("slows", "even", "speeds up"), by the ratio of chance now to before
    times: how many times the records raised the odds of that shape (its Bayes factor against the other two)
    strength: in words: Kass & Raftery 1995, J. Am. Stat. Assoc. 90:773-795, section 3.2
    """

    surface_type: str
    kappa: Estimate
    slows: float
    even: float
    speeds_up: float
    before: tuple[float, float, float]
    shape: str
    times: float
    strength: str


EVEN_WITHIN = 0.1  # a year: over ten years the decline changes by less than e times a loss of one log unit
_SHAPES = ("slows", "even", "speeds up")
_STRENGTHS = ((150.0, "very strongly"), (20.0, "strongly"), (3.0, "somewhat"), (0.0, "hardly"))


def _chances(mean: float, sd: float) -> tuple[float, float, float]:
    edges = (np.array([shape_of_kappa(-EVEN_WITHIN), shape_of_kappa(EVEN_WITHIN)]) - mean) / max(sd, 1e-12)
    below, up_to = (float(p) for p in ndtr(edges))
    return 1.0 - up_to, up_to - below, below


def _odds(chance: float) -> float:
    kept = min(max(chance, 1e-6), 1.0 - 1e-6)
    return kept / (1.0 - kept)


def shape_support(fit: PortfolioFit) -> tuple[ShapeSupport, ...]:
    """One entry a surface type, in the order of types.SURFACE_TYPES."""
    return tuple(_support(fit, kind) for kind in SURFACE_TYPES)


def _support(fit: PortfolioFit, kind: str) -> ShapeSupport:
    parts = [INDEX["kappa"], INDEX[f"kappa_kind:{kind}"]]
    sd = float(np.sqrt(fit.covariance[np.ix_(parts, parts)].sum()))
    now = _chances(float(fit.mode[parts].sum()), sd)
    before = _chances(float(PRIOR_MEAN[parts].sum()), float(np.sqrt((PRIOR_SD[parts] ** 2).sum())))
    factors = [_odds(a) / _odds(b) for a, b in zip(now, before, strict=True)]
    best = int(np.argmax(factors))
    words = next(words for least, words in _STRENGTHS if factors[best] >= least)
    kappa = _learnt(fit, f"kappa_kind:{kind}").now
    return ShapeSupport(kind, kappa, *now, before, _SHAPES[best], factors[best], words)


def _source(head: str, key: str) -> str:
    scales = {
        "tau_b": "as_new_scatter",
        "tau_lam": "decline_scatter",
        "sd_day": "day_scatter",
        "sd_spot": "spot_scatter",
    }
    if head in scales:
        return priors.SCALES[scales[head]].source
    alone = {
        "location_share": priors.LOCATION_SHARE,
        "kappa": priors.SHAPE,
        "gamma": priors.LASTING_SHARE,
        "corr": priors.START_DECLINE_CORR,
    }
    if head in alone:
        return alone[head].source
    tables = {
        "mu_b": priors.SURFACES,
        "mu_lam": priors.SURFACES,
        "beta": priors.CONDITIONS,
        "rho": priors.CLEANINGS,
        "wet": priors.CLEANINGS,
        "offset": priors.METHODS,
        "source_factor": priors.SOURCES,
    }
    return tables[head][key].source  # type: ignore[index]
