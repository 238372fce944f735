"""The portfolio parameters, as natural numbers and as one vector without bounds.

The vector is what is fitted: logs of scales, the logit of a share, everything else as it is. Its prior is
one independent normal an entry, taken from `priors.py`, so the fit works in units of prior sd throughout.
"""

from __future__ import annotations

from math import log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from . import priors
from .types import CLEANING_METHODS, CONDITIONS, SURFACE_TYPES, TEST_METHODS

Floats = NDArray[np.float64]


class PortfolioParams(NamedTuple):
    """What is common to a portfolio. M parameter sets can be held side by side in the last axis.

    mu_b: (9, M) mean log rate as new by surface type; mu_lam: (9, M) decline a year of exposure
    beta: (5, M) added to the decline by each condition; clock: (M,) exponent of the exposure clock
    tau_b, tau_lam: (M,) sd between like surfaces; drift_var: (M,) process variance a year
    sd_day, sd_spot: (M,) scatter of a day and of a spot; location_share: (M,) of the spot variance
    rho: (8, M) share restored by cleaning method; wet: (8, M) taken off it on a wet surface
    sd_clean: (8, M) scatter just after a cleaning; offset: (5, M) log offset of a test method, ring 0
    """

    mu_b: Floats
    mu_lam: Floats
    beta: Floats
    clock: Floats
    tau_b: Floats
    tau_lam: Floats
    drift_var: Floats
    sd_day: Floats
    sd_spot: Floats
    location_share: Floats
    rho: Floats
    wet: Floats
    sd_clean: Floats
    offset: Floats


class Entry(NamedTuple):
    """One entry of the vector: its name, its transform ("id", "log", "logit") and its normal prior."""

    name: str
    transform: str
    mean: float
    sd: float


def _surface_entries() -> list[Entry]:
    kinds = [(key, priors.SURFACES[key]) for key in SURFACE_TYPES]
    new = [Entry(f"mu_b:{key}", "id", log(k.as_new_mm_h), k.as_new_sd) for key, k in kinds]
    decline = [Entry(f"mu_lam:{key}", "id", k.decline, k.decline_sd) for key, k in kinds]
    beta = [
        Entry(f"beta:{key}", "id", priors.CONDITIONS[key].mean, priors.CONDITIONS[key].sd)
        for key in CONDITIONS
    ]
    return new + decline + beta


def _scale_entries() -> list[Entry]:
    keys = {
        "clock": "clock",
        "tau_b": "as_new_scatter",
        "tau_lam": "decline_scatter",
        "drift_var": "drift_var",
        "sd_day": "day_scatter",
        "sd_spot": "spot_scatter",
    }
    scales = [
        Entry(name, "log", log(priors.SCALES[key].mean), priors.SCALES[key].sd) for name, key in keys.items()
    ]
    share = priors.LOCATION_SHARE
    return [*scales, Entry("location_share", "logit", log(share.mean / (1.0 - share.mean)), share.sd)]


def _cleaning_entries() -> list[Entry]:
    methods = [(key, priors.CLEANINGS[key]) for key in CLEANING_METHODS]
    spread = priors.SCALES["clean_scatter"].sd
    rho = [Entry(f"rho:{key}", "id", m.share, m.share_sd) for key, m in methods]
    wet = [Entry(f"wet:{key}", "id", m.wet_penalty, m.wet_penalty_sd) for key, m in methods]
    sd = [Entry(f"sd_clean:{key}", "log", log(m.scatter), spread) for key, m in methods]
    return rho + wet + sd


def _offset_entries() -> list[Entry]:
    methods = [(key, priors.METHODS[key]) for key in TEST_METHODS[1:]]
    return [Entry(f"offset:{key}", "id", m.offset, m.offset_sd) for key, m in methods]


ENTRIES: tuple[Entry, ...] = (
    *_surface_entries(),
    *_scale_entries(),
    *_cleaning_entries(),
    *_offset_entries(),
)
NAMES: tuple[str, ...] = tuple(entry.name for entry in ENTRIES)
INDEX: dict[str, int] = {name: i for i, name in enumerate(NAMES)}
PRIOR_MEAN: Floats = np.array([entry.mean for entry in ENTRIES])
PRIOR_SD: Floats = np.array([entry.sd for entry in ENTRIES])
_LOG: NDArray[np.bool_] = np.array([entry.transform == "log" for entry in ENTRIES])
_LOGIT: NDArray[np.bool_] = np.array([entry.transform == "logit" for entry in ENTRIES])


def _field_slices() -> dict[str, slice]:
    """Where each field of PortfolioParams lies in the vector."""
    heads = [name.split(":")[0] for name in NAMES]
    return {
        head: slice(heads.index(head), heads.index(head) + heads.count(head)) for head in dict.fromkeys(heads)
    }


SLICES = _field_slices()


def natural(vector: Floats) -> Floats:
    """The vector with every transform undone. vector: (d,) or (d, M)."""
    out = np.array(vector, dtype=float)
    out[_LOG] = np.exp(out[_LOG])
    out[_LOGIT] = expit(out[_LOGIT])
    return out


def to_params(vector: Floats) -> PortfolioParams:
    """Natural parameters of one vector (d,) or of M vectors side by side (d, M)."""
    values = natural(vector if vector.ndim == 2 else vector[:, None])
    fields = {name: values[where] for name, where in SLICES.items()}
    ring = np.zeros((1, values.shape[1]))
    fields["offset"] = np.concatenate([ring, fields["offset"]])
    scalars = {name: field[0] for name, field in fields.items() if ":" not in NAMES[SLICES[name].start]}
    return PortfolioParams(**{**fields, **scalars})


def to_vector_gradient(params: PortfolioParams, gradient: PortfolioParams) -> Floats:
    """Chain rule from natural parameters to the vector; both (., M), the result is (d, M)."""
    rows = []
    for name in SLICES:
        value, slope = np.atleast_2d(getattr(params, name)), np.atleast_2d(getattr(gradient, name))
        rows.append((value, slope) if name != "offset" else (value[1:], slope[1:]))
    value = np.concatenate([row[0] for row in rows])
    slope = np.concatenate([row[1] for row in rows])
    factor = np.ones_like(value)
    factor[_LOG] = value[_LOG]
    factor[_LOGIT] = value[_LOGIT] * (1.0 - value[_LOGIT])
    return slope * factor
