"""How many readings settle a construction check: one for every so much area, or length of edge, and at least some.

Cores of pervious concrete: three for every 5,000 ft², ACI 522.1 (from memory, verify against the current edition). All
others are judgement: common practice, no source. A job's specification comes first; a coordinator enters its number.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import ceil, sqrt
from types import MappingProxyType

from core.calc.marks import marked
from core.calc.nominal import Nominal
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
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
    """How many readings, and what that rests on in English words, to be stored: `basis_words` says them.

    No words where one look is all there is.
    """

    readings: int
    basis: str = ""


_SPOTS = Sampling(3, area=Nominal(200.0, 2000.0))
_FEW = Sampling(1, area=Nominal(500.0, 5000.0))
BY_EACH = MappingProxyType(
    {
        gettext_noop("level"): _SPOTS,
        gettext_noop("place"): _SPOTS,
        gettext_noop("overlap"): _SPOTS,
        gettext_noop("joint"): Sampling(5, area=Nominal(200.0, 2000.0)),
        gettext_noop("unit"): _SPOTS,
        gettext_noop("unit lifted again"): _SPOTS,
        gettext_noop("opening"): _SPOTS,
        gettext_noop("panel"): _SPOTS,
        gettext_noop("load"): Sampling(1, area=Nominal(100.0, 1000.0)),
        gettext_noop("batch"): Sampling(1, area=Nominal(50.0, 500.0)),
        gettext_noop("test pit"): _FEW,
        gettext_noop("lift"): _FEW,
        gettext_noop("delivery"): Sampling(1, area=Nominal(1000.0, 10_000.0)),
        gettext_noop("line"): Sampling(2, edge=Nominal(30.0, 100.0)),
        gettext_noop("stretch"): Sampling(1, edge=Nominal(50.0, 150.0)),
        gettext_noop("core"): Sampling(3, area=Nominal(465.0, 5000.0), readings=3),
    }
)
BY_KEY = MappingProxyType(
    {"concrete_voids": Sampling(3, area=Nominal(465.0, 5000.0), readings=3, source=CORES)}
)


AT_LEAST = gettext_noop("At least {least}. {source}.")
_EVERY_AREA = {
    UnitSystem.SI: gettext_noop("{readings} for every {size} m² or part of it, at least {least} ({source})."),
    UnitSystem.US: gettext_noop(
        "{readings} for every {size} ft² or part of it, at least {least} ({source})."
    ),
}
_EVERY_EDGE = {
    UnitSystem.SI: gettext_noop(
        "{readings} for every {size} m of edge or part of it, at least {least} ({source})."
    ),
    UnitSystem.US: gettext_noop(
        "{readings} for every {size} ft of edge or part of it, at least {least} ({source})."
    ),
}
IN_ONE_LIFT = gettext_noop("In each of {lifts} lift: {basis}")
IN_LIFTS = gettext_noop("In each of {lifts} lifts: {basis}")
_IN_LIFTS = re.compile(r"In each of (\d+) lifts?: (.*)")


@dataclass(frozen=True, slots=True)
class _Basis:
    """A rule as a sentence. size: of the area or the length, as a number in English."""

    sentence: str
    rule: Sampling
    size: str

    @property
    def written(self) -> str:
        """In English, as it is stored."""
        source, rule = self.rule.source, self.rule
        cited = source.status.written if source is PRACTICE else source.citation
        return self.sentence.format(readings=rule.readings, size=self.size, least=rule.least, source=cited)

    @property
    def said(self) -> str:
        """In the reader's language."""
        source, rule = self.rule.source, self.rule
        cited = source.status_words if source is PRACTICE else source.said
        return _(self.sentence).format(
            readings=rule.readings, size=marked(self.size), least=rule.least, source=cited
        )


def readings_needed(check: Check, extent: Extent, system: UnitSystem, lifts: int = 1) -> Needed:
    """Readings that settle a check on a surface, counted in the system its firm works in.

    lifts: of the layer, where the check looks at each.
    """
    rule = BY_KEY.get(check.key) or BY_EACH.get(check.each)
    if rule is None:
        return Needed(1)
    each_lift = max(rule.least, rule.readings * _parts(rule, extent, system))
    basis = _basis(rule, system).written
    if check.each != "lift":
        return Needed(each_lift, basis)
    one_or_many = IN_ONE_LIFT if lifts == 1 else IN_LIFTS
    return Needed(lifts * each_lift, one_or_many.format(lifts=lifts, basis=basis))


def basis_words(stored: str) -> str:
    """What a number of readings rests on, as it was stored, in the reader's language."""
    in_lifts = _IN_LIFTS.fullmatch(stored)
    if in_lifts:
        one_or_many = IN_ONE_LIFT if in_lifts[1] == "1" else IN_LIFTS
        return _(one_or_many).format(lifts=in_lifts[1], basis=basis_words(in_lifts[2]))
    known = _known_bases().get(stored)
    return known.said if known else stored


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


def _basis(rule: Sampling, system: UnitSystem) -> _Basis:
    share = rule.area or rule.edge
    if share is None:
        return _Basis(AT_LEAST, rule, "")
    of_what = _EVERY_AREA if rule.area else _EVERY_EDGE
    return _Basis(of_what[system], rule, f"{share.in_system(system):,.0f}")


@cache
def _known_bases() -> Mapping[str, _Basis]:
    """What every rule rests on, by the English words for it."""
    rules = (*BY_EACH.values(), *BY_KEY.values())
    found = (_basis(rule, system) for rule in rules for system in UnitSystem)
    return {basis.written: basis for basis in found}
