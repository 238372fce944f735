"""Usual layers of each surface type, to start a record from. A start, not a design.

Each size stands twice, as it is ordered by millimetres and by inches; a record starts with those of who enters it.
"""

from dataclasses import dataclass, replace

from core.calc.choices import TextChoice
from core.calc.nominal import Nominal, spoken
from core.calc.paving import SurfaceType, Traffic
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import Quantity, UnitSystem, from_display

SOURCE = gettext_noop(
    "Bedding of No. 8, base of 100 mm (4 in) No. 57, subbase of No. 2 and a minimum porosity of 0.40: "
    "Minnesota Stormwater Manual, specifications for materials under permeable pavement; "
    "resin-bound depths: trade article on resin-bound standards; units of 60 and 80 mm: ICPI article on bases; "
    "clay units: ASTM C902 and C1272 (from memory); other thicknesses: common practice, no source."
)


class LayerKind(TextChoice):
    """What a layer is for, from the top down."""

    SURFACE_COURSE = "surface_course", "Surface course"
    JOINT_FILL = "joint_fill", "Joint fill"
    BEDDING = "bedding", "Bedding"
    BOUND_BED = "bound_bed", "Bound bed"
    BASE = "base", "Base"
    SUBBASE = "subbase", "Subbase"
    GEOTEXTILE = "geotextile", "Geotextile"
    LINER = "liner", "Liner"
    SUBGRADE = "subgrade", "Subgrade"


SHEETS = (LayerKind.GEOTEXTILE, LayerKind.LINER)


@dataclass(frozen=True, slots=True)
class TypicalLayer:
    """One layer; lengths in mm, porosity as a share of the volume, None where it has none."""

    kind: LayerKind
    material: str = ""
    thickness_mm: float | None = None
    stone_min_mm: float | None = None
    stone_max_mm: float | None = None
    porosity: float | None = None


@dataclass(frozen=True, slots=True)
class _Usual:
    """A layer with its sizes in mm and in inches; the stone from its smallest to its largest."""

    kind: LayerKind
    material: str = ""
    thickness: Nominal | None = None
    stone: tuple[Nominal, Nominal] | None = None
    porosity: float | None = None

    def in_system(self, system: UnitSystem) -> TypicalLayer:
        """The layer with the sizes of a system, kept in mm."""
        smallest, largest = self.stone or (None, None)
        return TypicalLayer(
            self.kind,
            spoken(_(self.material), system),
            _mm(self.thickness, system),
            _mm(smallest, system),
            _mm(largest, system),
            self.porosity,
        )


def _mm(size: Nominal | None, system: UnitSystem) -> float | None:
    if size is None:
        return None
    return round(from_display(size.in_system(system), Quantity.SHORT_LENGTH, system), 6)


_N = Nominal
_No8 = (_N(2.4, 3 / 32), _N(9.5, 3 / 8))
_No57 = (_N(4.8, 3 / 16), _N(25.0, 1.0))
_No2 = (_N(37.5, 3 / 2), _N(63.0, 5 / 2))
_CHIPS_4_16 = (_N(4.0, 3 / 16), _N(16.0, 5 / 8))
_FOOT, _CARS, _HEAVY = Traffic.FOOT, Traffic.CARS, Traffic.HEAVY

_BEDDING = _Usual(
    LayerKind.BEDDING,
    gettext_noop("{washed chippings|washed chip stone}, No. 8, {9 mm|3/8 in} clear chip"),
    _N(40, 3 / 2),
    _No8,
    0.40,
)
_BOUND_BED = _Usual(
    LayerKind.BOUND_BED,
    gettext_noop("drainage concrete, units set with bonding agent"),
    _N(60, 5 / 2),
    None,
    0.20,
)
_BASE = _Usual(
    LayerKind.BASE,
    gettext_noop("open-graded stone, No. 57, {19 mm|3/4 in} clear crushed"),
    _N(100, 4),
    _No57,
    0.40,
)
_SUBBASE = _Usual(
    LayerKind.SUBBASE,
    gettext_noop("open-graded stone, No. 2, {50 mm|2 in} clear crushed"),
    _N(250, 10),
    _No2,
    0.40,
)
_BELOW = (
    _Usual(LayerKind.GEOTEXTILE, gettext_noop("nonwoven, separation")),
    _Usual(LayerKind.SUBGRADE, gettext_noop("uncompacted soil")),
)
_JOINT_CHIPPINGS = _Usual(
    LayerKind.JOINT_FILL,
    gettext_noop("{washed chippings|washed chip stone}, No. 89, {9 mm|3/8 in} chip, small"),
    _N(75, 3),
    (_N(1.2, 3 / 64), _N(9.5, 3 / 8)),
    0.38,
)
_SUBBASE_BY_TRAFFIC = {_FOOT: _N(150, 6), _CARS: _N(250, 10), _HEAVY: _N(350, 14)}

# Units, with their fill: a joint is as deep as the unit, less what its edge and the settled fill leave open.
_COURSES = {
    SurfaceType.PICP: _Usual(LayerKind.SURFACE_COURSE, gettext_noop("concrete pavers")),
    SurfaceType.CLAY: _Usual(LayerKind.SURFACE_COURSE, gettext_noop("clay pavers")),
    SurfaceType.RESIN_JOINT: _Usual(LayerKind.SURFACE_COURSE, gettext_noop("natural stone setts")),
    SurfaceType.CONCRETE_GRID: _Usual(LayerKind.SURFACE_COURSE, gettext_noop("concrete grid units")),
    SurfaceType.PLASTIC_GRID: _Usual(LayerKind.SURFACE_COURSE, gettext_noop("plastic grid")),
    SurfaceType.RESIN_BOUND: _Usual(
        LayerKind.SURFACE_COURSE,
        gettext_noop("resin-bound aggregate"),
        None,
        (_N(2, 3 / 32), _N(5, 3 / 16)),
        0.25,
    ),
    SurfaceType.PERVIOUS_CONCRETE: _Usual(
        LayerKind.SURFACE_COURSE,
        gettext_noop("pervious concrete"),
        None,
        (_N(4, 3 / 16), _N(10, 3 / 8)),
        0.20,
    ),
    SurfaceType.POROUS_ASPHALT: _Usual(
        LayerKind.SURFACE_COURSE, gettext_noop("porous asphalt"), None, (_N(2, 3 / 32), _N(11, 1 / 2)), 0.18
    ),
    SurfaceType.GRAVEL: _Usual(
        LayerKind.SURFACE_COURSE, gettext_noop("washed gravel"), None, _CHIPS_4_16, 0.40
    ),
}
_THICKNESS: dict[SurfaceType, dict[Traffic, Nominal]] = {
    SurfaceType.PICP: {_FOOT: _N(60, 2 + 3 / 8), _CARS: _N(80, 3 + 1 / 8), _HEAVY: _N(100, 4)},
    SurfaceType.CLAY: {_FOOT: _N(60, 2 + 1 / 4), _CARS: _N(70, 2 + 5 / 8), _HEAVY: _N(80, 3 + 1 / 8)},
    SurfaceType.RESIN_JOINT: {_FOOT: _N(60, 2 + 3 / 8), _CARS: _N(80, 3 + 1 / 8), _HEAVY: _N(100, 4)},
    SurfaceType.CONCRETE_GRID: {_FOOT: _N(80, 3 + 1 / 8), _CARS: _N(100, 4), _HEAVY: _N(120, 4 + 3 / 4)},
    SurfaceType.PLASTIC_GRID: {_FOOT: _N(40, 3 / 2), _CARS: _N(50, 2), _HEAVY: _N(50, 2)},
    SurfaceType.RESIN_BOUND: {_FOOT: _N(15, 5 / 8), _CARS: _N(18, 3 / 4), _HEAVY: _N(22, 7 / 8)},
    SurfaceType.PERVIOUS_CONCRETE: {_FOOT: _N(125, 5), _CARS: _N(150, 6), _HEAVY: _N(200, 8)},
    SurfaceType.POROUS_ASPHALT: {_FOOT: _N(65, 5 / 2), _CARS: _N(75, 3), _HEAVY: _N(100, 4)},
    SurfaceType.GRAVEL: {_FOOT: _N(50, 2), _CARS: _N(60, 5 / 2), _HEAVY: _N(80, 3)},
}
_FILLS = {
    SurfaceType.PICP: _JOINT_CHIPPINGS,
    SurfaceType.CLAY: _JOINT_CHIPPINGS,
    SurfaceType.RESIN_JOINT: _Usual(
        LayerKind.JOINT_FILL,
        gettext_noop("permeable resin mortar"),
        _N(50, 2),
        (_N(1, 1 / 32), _N(3, 1 / 8)),
        0.30,
    ),
    SurfaceType.CONCRETE_GRID: _Usual(
        LayerKind.JOINT_FILL,
        gettext_noop("{chippings|chip stone} in the cells"),
        None,
        (_N(2, 3 / 32), _N(8, 3 / 8)),
        0.38,
    ),
    SurfaceType.PLASTIC_GRID: _Usual(
        LayerKind.JOINT_FILL, gettext_noop("gravel in the cells"), None, _CHIPS_4_16, 0.40
    ),
}
_OPEN_AT_TOP = {
    SurfaceType.PICP: _N(5, 1 / 8),
    SurfaceType.CLAY: _N(5, 1 / 8),
    SurfaceType.CONCRETE_GRID: _N(10, 1 / 2),
    SurfaceType.PLASTIC_GRID: _N(0, 0),
}
_UNDER_COURSE = {
    SurfaceType.RESIN_BOUND: (
        _Usual(
            LayerKind.BEDDING, gettext_noop("open asphalt binder course"), _N(60, 5 / 2), _CHIPS_4_16, 0.20
        ),
        _BASE,
        _SUBBASE,
    ),
    SurfaceType.PERVIOUS_CONCRETE: (replace(_BASE, thickness=_N(250, 10)),),
    SurfaceType.POROUS_ASPHALT: (
        _Usual(
            LayerKind.BEDDING,
            gettext_noop("choker course, No. 57, {19 mm|3/4 in} clear crushed"),
            _N(25, 1),
            _No57,
            0.40,
        ),
        _SUBBASE,
    ),
    SurfaceType.GRAVEL: (_BASE, _SUBBASE),
}
_UNDER_UNITS = (_BEDDING, _BASE, _SUBBASE)


def typical_layers(
    surface_type: str,
    traffic: int = Traffic.CARS,
    system: UnitSystem = UnitSystem.SI,
    *,
    bound_bed: bool = False,
) -> tuple[TypicalLayer, ...]:
    """Layers from the top down, as a first entry to be corrected against what was built.

    traffic: what the course and the subbase are thick enough for. system: whose sizes. bound_bed: units on drainage
    concrete in place of loose bedding.

    Source: see SOURCE. Raises ValueError for an unknown type.
    """
    kind, going = SurfaceType(surface_type), Traffic(traffic)
    usual = (*_course(kind, going), *_under(kind, going, bound_bed), *_BELOW)
    return tuple(layer.in_system(system) for layer in usual)


def _course(kind: SurfaceType, traffic: Traffic) -> tuple[_Usual, ...]:
    thickness = _THICKNESS[kind][traffic]
    course, fill = replace(_COURSES[kind], thickness=thickness), _FILLS.get(kind)
    if fill is None:
        return (course,)
    open_at_top = _OPEN_AT_TOP.get(kind)
    if open_at_top is not None:
        deep = Nominal(thickness.si - open_at_top.si, thickness.us - open_at_top.us)
        fill = replace(fill, thickness=deep)
    return (course, fill)


def _under(kind: SurfaceType, traffic: Traffic, bound_bed: bool) -> tuple[_Usual, ...]:
    layers = _UNDER_COURSE.get(kind, _UNDER_UNITS)
    if bound_bed:
        layers = tuple(_BOUND_BED if layer is _BEDDING else layer for layer in layers)
    by_traffic = _SUBBASE_BY_TRAFFIC[traffic]
    return tuple(replace(one, thickness=by_traffic) if one is _SUBBASE else one for one in layers)
