"""How many readings settle a construction check: one for every so much area, or length of edge, and at least some.

Cores of pervious concrete: three for every 5,000 ft², ACI 522.1 (from memory, verify against the current edition). All
others are judgement: common practice, no source. A job's specification comes first; a coordinator enters its number.
"""

from dataclasses import dataclass
from math import ceil, sqrt
from types import MappingProxyType

from core.calc.nominal import Nominal
from core.calc.units import M2_PER_FT2, MM_PER_FT, MM_PER_M, UnitSystem
from qa.calc.check_model import Check
from qa.calc.check_sources import CORES, PRACTICE
from qa.calc.sources import Source

_HAIR = 1e-9
SQUARE = 4.0


@dataclass(frozen=True, slots=True)
class Extent:
    """What a surface measures: area in m², length of its edge in m, of a square where nobody drew it."""

    area_m2: float
    edge_m: float

    @classmethod
    def of_area(cls, area_m2: float) -> "Extent":
        """The extent of a square of that area."""
        return cls(area_m2, SQUARE * sqrt(area_m2))


@dataclass(frozen=True, slots=True)
class Sampling:
    """So many readings for every area (m², ft²) or length of edge (m, ft), begun or whole, and at least some."""

    least: int
    area: Nominal | None = None
    edge: Nominal | None = None
    readings: int = 1
    source: Source = PRACTICE


@dataclass(frozen=True, slots=True)
class Needed:
    """How many readings, and what that rests on in words; no words where one look is all there is."""

    readings: int
    basis: str = ""


_SPOTS = Sampling(3, area=Nominal(200.0, 2000.0))
_FEW = Sampling(1, area=Nominal(500.0, 5000.0))
BY_EACH = MappingProxyType(
    {
        "level": _SPOTS,
        "place": _SPOTS,
        "overlap": _SPOTS,
        "joint": Sampling(5, area=Nominal(200.0, 2000.0)),
        "unit": _SPOTS,
        "unit lifted again": _SPOTS,
        "opening": _SPOTS,
        "panel": _SPOTS,
        "load": Sampling(1, area=Nominal(100.0, 1000.0)),
        "batch": Sampling(1, area=Nominal(50.0, 500.0)),
        "test pit": _FEW,
        "lift": _FEW,
        "delivery": Sampling(1, area=Nominal(1000.0, 10_000.0)),
        "line": Sampling(2, edge=Nominal(30.0, 100.0)),
        "stretch": Sampling(1, edge=Nominal(50.0, 150.0)),
        "core": Sampling(3, area=Nominal(465.0, 5000.0), readings=3),
    }
)
BY_KEY = MappingProxyType(
    {"concrete_voids": Sampling(3, area=Nominal(465.0, 5000.0), readings=3, source=CORES)}
)


def readings_needed(check: Check, extent: Extent, system: UnitSystem, lifts: int = 1) -> Needed:
    """Readings that settle a check on a surface, counted in the system its firm works in.

    lifts: of the layer, where the check looks at each.
    """
    rule = BY_KEY.get(check.key) or BY_EACH.get(check.each)
    if rule is None:
        return Needed(1)
    each_lift = max(rule.least, rule.readings * _parts(rule, extent, system))
    if check.each != "lift":
        return Needed(each_lift, _basis(rule, system))
    return Needed(
        lifts * each_lift, f"In each of {lifts} lift{'s' if lifts > 1 else ''}: {_basis(rule, system)}"
    )


def _parts(rule: Sampling, extent: Extent, system: UnitSystem) -> int:
    """Areas or lengths of the rule that the surface has, one begun counting as one."""
    in_us = system is UnitSystem.US
    if rule.area:
        area = extent.area_m2 / M2_PER_FT2 if in_us else extent.area_m2
        return ceil(area / rule.area.in_system(system) - _HAIR)
    if rule.edge:
        edge = extent.edge_m * MM_PER_M / MM_PER_FT if in_us else extent.edge_m
        return ceil(edge / rule.edge.in_system(system) - _HAIR)
    return 1


def _basis(rule: Sampling, system: UnitSystem) -> str:
    in_si = system is UnitSystem.SI
    share = rule.area or rule.edge
    if share is None:
        return f"At least {rule.least}. {rule.source.citation}."
    unit = ("m²" if in_si else "ft²") if rule.area else ("m of edge" if in_si else "ft of edge")
    each = f"{rule.readings} for every {share.in_system(system):,.0f} {unit} or part of it"
    return f"{each}, at least {rule.least} ({_cited(rule.source)})."


def _cited(source: Source) -> str:
    return source.status_words if source is PRACTICE else source.citation
