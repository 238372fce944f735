"""Usual layers of each surface type, to start a record from. A start, not a design."""

from dataclasses import dataclass

from core.calc.choices import TextChoice
from core.calc.paving import SurfaceType

SOURCE = (
    "Bedding of No. 8, base of 100 mm No. 57, subbase of No. 2 and a minimum porosity of 0.40: "
    "Minnesota Stormwater Manual, specifications for materials under permeable pavement; "
    "resin-bound depths: trade article on resin-bound standards; other thicknesses: common practice, no source."
)


class LayerKind(TextChoice):
    """What a layer is for, from the top down."""

    SURFACE_COURSE = "surface_course", "Surface course"
    JOINT_FILL = "joint_fill", "Joint fill"
    BEDDING = "bedding", "Bedding"
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


_BEDDING = TypicalLayer(LayerKind.BEDDING, "washed chippings, No. 8", 40, 2.4, 9.5, 0.40)
_BASE = TypicalLayer(LayerKind.BASE, "open-graded stone, No. 57", 100, 4.8, 25, 0.40)
_SUBBASE = TypicalLayer(LayerKind.SUBBASE, "open-graded stone, No. 2", 250, 37.5, 63, 0.40)
_BELOW = (
    TypicalLayer(LayerKind.GEOTEXTILE, "nonwoven, separation"),
    TypicalLayer(LayerKind.SUBGRADE, "uncompacted soil"),
)
_UNDER_UNITS = (_BEDDING, _BASE, _SUBBASE, *_BELOW)

_JOINT_CHIPPINGS = TypicalLayer(LayerKind.JOINT_FILL, "washed chippings, No. 89", 75, 1.2, 9.5, 0.38)

_TOPS: dict[SurfaceType, tuple[TypicalLayer, ...]] = {
    SurfaceType.PICP: (TypicalLayer(LayerKind.SURFACE_COURSE, "concrete pavers", 80), _JOINT_CHIPPINGS),
    SurfaceType.CLAY: (TypicalLayer(LayerKind.SURFACE_COURSE, "clay pavers", 70), _JOINT_CHIPPINGS),
    SurfaceType.RESIN_JOINT: (
        TypicalLayer(LayerKind.SURFACE_COURSE, "natural stone setts", 80),
        TypicalLayer(LayerKind.JOINT_FILL, "permeable resin mortar", 50, 1, 3, 0.30),
    ),
    SurfaceType.CONCRETE_GRID: (
        TypicalLayer(LayerKind.SURFACE_COURSE, "concrete grid units", 100),
        TypicalLayer(LayerKind.JOINT_FILL, "chippings in the cells", 90, 2, 8, 0.38),
    ),
    SurfaceType.PLASTIC_GRID: (
        TypicalLayer(LayerKind.SURFACE_COURSE, "plastic grid", 50),
        TypicalLayer(LayerKind.JOINT_FILL, "gravel in the cells", 50, 4, 16, 0.40),
    ),
}

_MONOLITHIC: dict[SurfaceType, tuple[TypicalLayer, ...]] = {
    SurfaceType.RESIN_BOUND: (
        TypicalLayer(LayerKind.SURFACE_COURSE, "resin-bound aggregate", 18, 2, 5, 0.25),
        TypicalLayer(LayerKind.BEDDING, "open asphalt binder course", 60, 4, 16, 0.20),
        _BASE,
        _SUBBASE,
        *_BELOW,
    ),
    SurfaceType.PERVIOUS_CONCRETE: (
        TypicalLayer(LayerKind.SURFACE_COURSE, "pervious concrete", 150, 4, 10, 0.20),
        TypicalLayer(LayerKind.BASE, "open-graded stone, No. 57", 250, 4.8, 25, 0.40),
        *_BELOW,
    ),
    SurfaceType.POROUS_ASPHALT: (
        TypicalLayer(LayerKind.SURFACE_COURSE, "porous asphalt", 70, 2, 11, 0.18),
        TypicalLayer(LayerKind.BEDDING, "choker course, No. 57", 25, 4.8, 25, 0.40),
        _SUBBASE,
        *_BELOW,
    ),
    SurfaceType.GRAVEL: (
        TypicalLayer(LayerKind.SURFACE_COURSE, "washed gravel", 60, 4, 16, 0.40),
        _BASE,
        _SUBBASE,
        *_BELOW,
    ),
}


def typical_layers(surface_type: str) -> tuple[TypicalLayer, ...]:
    """Layers from the top down, as a first entry to be corrected against what was built.

    Source: see SOURCE. Raises ValueError for an unknown type.
    """
    kind = SurfaceType(surface_type)
    return _MONOLITHIC[kind] if kind in _MONOLITHIC else (*_TOPS[kind], *_UNDER_UNITS)
