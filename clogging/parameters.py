"""The portfolio parameters, as natural numbers and as one vector without bounds.

The vector is what is fitted: logs of scales, logits of shares, Fisher's transform of the correlation, everything
else as it is. Its prior is one independent normal an entry, taken from `priors.py`, so the fit works in units of
prior sd throughout. The shape of the decline is partially pooled: one entry for all surfaces and one a kind, added
on the logit scale of priors.KAPPA_RANGE.
"""

from __future__ import annotations

from math import atanh, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from . import priors
from .types import CLEANING_METHODS, CONDITIONS, SOURCE_CHANGES, SURFACE_TYPES, TEST_METHODS

Floats = NDArray[np.float64]

_LOWEST_KAPPA, _HIGHEST_KAPPA = priors.KAPPA_RANGE
_KAPPA_SPAN = _HIGHEST_KAPPA - _LOWEST_KAPPA


class PortfolioParams(NamedTuple):
    """What is common to a portfolio. M parameter sets can be held side by side in the last axis.

    mu_b: (9, M) mean log rate as new by surface type; mu_lam: (9, M) decline a year of an open surface
    beta: (5, M) added to the decline by each condition; kappa: (9, M) change of the decline with the loss, a year
    gamma: (M,) share of each loss that lasts; corr: (M,) correlation of rate as new and decline
    tau_b, tau_lam: (M,) sd between like surfaces; drift_var: (M,) process variance a year
    sd_day, sd_spot: (M,) scatter of a day and of a spot; location_share: (M,) of the spot variance
    rho: (8, M) share restored by cleaning method; wet: (8, M) taken off it on a wet surface
    sd_clean: (8, M) scatter just after a cleaning; offset: (5, M) log offset of a test method, ring 0
    source_factor, sd_source: (2, M) decline after a change of source over that before it, and its scatter
    """

    mu_b: Floats
    mu_lam: Floats
    beta: Floats
    kappa: Floats
    gamma: Floats
    corr: Floats
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
    source_factor: Floats
    sd_source: Floats

    @property
    def n_sets(self) -> int:
        return self.gamma.shape[-1]


class Entry(NamedTuple):
    """One entry of the vector: its name, its transform ("id", "log", "logit", "atanh") and its normal prior."""

    name: str
    transform: str
    mean: float
    sd: float


def logit(share: float) -> float:
    """Log odds of a share strictly between 0 and 1."""
    return log(share / (1.0 - share))


def shape_of_kappa(kappa: float) -> float:
    """The vector's entry for a kappa a year; the inverse of `kappa_of_shape`."""
    return logit((kappa - _LOWEST_KAPPA) / _KAPPA_SPAN)


def kappa_of_shape(shape: Floats) -> Floats:
    """kappa a year, inside priors.KAPPA_RANGE."""
    return _LOWEST_KAPPA + _KAPPA_SPAN * expit(shape)


def _surface_entries() -> list[Entry]:
    kinds = [(key, priors.SURFACES[key]) for key in SURFACE_TYPES]
    new = [Entry(f"mu_b:{key}", "id", log(k.as_new_mm_h), k.as_new_sd) for key, k in kinds]
    decline = [Entry(f"mu_lam:{key}", "id", k.decline, k.decline_sd) for key, k in kinds]
    beta = [
        Entry(f"beta:{key}", "id", priors.CONDITIONS[key].mean, priors.CONDITIONS[key].sd)
        for key in CONDITIONS
    ]
    return new + decline + beta


def _shape_entries() -> list[Entry]:
    shape, lasting, corr = priors.SHAPE, priors.LASTING_SHARE, priors.START_DECLINE_CORR
    return [
        Entry("kappa", "id", shape_of_kappa(shape.mean), shape.sd),
        *(Entry(f"kappa_kind:{key}", "id", 0.0, priors.SHAPE_OF_KIND_SD) for key in SURFACE_TYPES),
        Entry("gamma", "logit", logit(lasting.mean), lasting.sd),
        Entry("corr", "atanh", atanh(corr.mean), corr.sd),
    ]


def _scale_entries() -> list[Entry]:
    keys = {
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
    return [*scales, Entry("location_share", "logit", logit(share.mean), share.sd)]


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


def _source_entries() -> list[Entry]:
    changes = [(key, priors.SOURCES[key]) for key in SOURCE_CHANGES]
    factor = [Entry(f"source_factor:{key}", "log", log(s.factor), s.factor_sd) for key, s in changes]
    return factor + [Entry(f"sd_source:{key}", "log", log(s.sd), s.sd_sd) for key, s in changes]


ENTRIES: tuple[Entry, ...] = (
    *_surface_entries(),
    *_shape_entries(),
    *_scale_entries(),
    *_cleaning_entries(),
    *_offset_entries(),
    *_source_entries(),
)
NAMES: tuple[str, ...] = tuple(entry.name for entry in ENTRIES)
INDEX: dict[str, int] = {name: i for i, name in enumerate(NAMES)}
PRIOR_MEAN: Floats = np.array([entry.mean for entry in ENTRIES])
PRIOR_SD: Floats = np.array([entry.sd for entry in ENTRIES])


def _where(transform: str) -> NDArray[np.bool_]:
    return np.array([entry.transform == transform for entry in ENTRIES])


_LOG, _LOGIT, _ATANH = _where("log"), _where("logit"), _where("atanh")


def _field_slices() -> dict[str, slice]:
    """Where each head of a name lies in the vector."""
    heads = [name.split(":")[0] for name in NAMES]
    return {
        head: slice(heads.index(head), heads.index(head) + heads.count(head)) for head in dict.fromkeys(heads)
    }


SLICES = _field_slices()


def _param_places() -> dict[str, int]:
    """Where each field of PortfolioParams begins when all are laid one after the other."""
    sizes = {
        "mu_b": len(SURFACE_TYPES),
        "mu_lam": len(SURFACE_TYPES),
        "beta": len(CONDITIONS),
        "kappa": len(SURFACE_TYPES),
        "rho": len(CLEANING_METHODS),
        "wet": len(CLEANING_METHODS),
        "sd_clean": len(CLEANING_METHODS),
        "offset": len(TEST_METHODS),
        "source_factor": len(SOURCE_CHANGES),
        "sd_source": len(SOURCE_CHANGES),
    }
    ends = np.cumsum([0, *(sizes.get(name, 1) for name in PortfolioParams._fields)]).tolist()
    return dict(zip((*PortfolioParams._fields, "end"), ends, strict=True))


PARAM_AT = _param_places()


def one_after_other(params: PortfolioParams) -> Floats:
    """(M, P) the fields of each parameter set in their order."""
    return np.ascontiguousarray(np.concatenate([np.atleast_2d(field) for field in params]).T)


def taken_apart(values: Floats) -> PortfolioParams:
    """Undo `one_after_other`."""
    starts = list(PARAM_AT.values())
    tables = {name.split(":")[0] for name in NAMES if ":" in name} | {"kappa"}
    return PortfolioParams(
        *(
            values.T[at:end] if name in tables else values[:, at]
            for name, at, end in zip(PortfolioParams._fields, starts, starts[1:], strict=False)
        )
    )


def natural(vector: Floats) -> Floats:
    """The vector with every transform undone but that of kappa, which joins two entries. vector: (d,) or (d, M)."""
    out = np.array(vector, dtype=float)
    out[_LOG] = np.exp(out[_LOG])
    out[_LOGIT] = expit(out[_LOGIT])
    out[_ATANH] = np.tanh(out[_ATANH])
    return out


def to_params(vector: Floats) -> PortfolioParams:
    """Natural parameters of one vector (d,) or of M vectors side by side (d, M)."""
    values = natural(vector if vector.ndim == 2 else vector[:, None])
    fields = {name: values[where] for name, where in SLICES.items()}
    fields["kappa"] = kappa_of_shape(fields["kappa"] + fields.pop("kappa_kind"))
    ring = np.zeros((1, values.shape[1]))
    fields["offset"] = np.concatenate([ring, fields["offset"]])
    tables = {name.split(":")[0] for name in NAMES if ":" in name} | {"kappa"}
    return PortfolioParams(**{name: field if name in tables else field[0] for name, field in fields.items()})


def to_vector_gradient(params: PortfolioParams, gradient: PortfolioParams) -> Floats:
    """Chain rule from natural parameters to the vector; both (., M), the result is (d, M)."""
    slopes = {name: np.atleast_2d(field) for name, field in gradient._asdict().items()}
    values = {name: np.atleast_2d(field) for name, field in params._asdict().items()}
    reached = (values["kappa"] - _LOWEST_KAPPA) / _KAPPA_SPAN
    slopes["kappa_kind"] = slopes["kappa"] * _KAPPA_SPAN * reached * (1.0 - reached)
    slopes["kappa"] = slopes["kappa_kind"].sum(0, keepdims=True)
    slopes["offset"] = slopes["offset"][1:]
    values |= {"kappa_kind": values["kappa"], "kappa": values["kappa"][:1], "offset": values["offset"][1:]}
    value = np.concatenate([values[name] for name in SLICES])
    slope = np.concatenate([slopes[name] for name in SLICES])
    factor = np.ones_like(value)
    factor[_LOG] = value[_LOG]
    factor[_LOGIT] = value[_LOGIT] * (1.0 - value[_LOGIT])
    factor[_ATANH] = 1.0 - value[_ATANH] ** 2
    return slope * factor
