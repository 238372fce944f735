"""Usual layers of each surface type, to start a record from. A start, not a design."""

from dataclasses import dataclass

SOURCE = (
    "Bedding of No. 8, base of 100 mm No. 57, subbase of No. 2 and a minimum porosity of 0.40: "
    "Minnesota Stormwater Manual, specifications for materials under permeable pavement; "
    "resin-bound depths: trade article on resin-bound standards; other thicknesses: common practice, no source."
)


@dataclass(frozen=True, slots=True)
class TypicalLayer:
    """One layer; lengths in mm, porosity as a share of the volume, None where it has none."""

    kind: str
    material: str = ""
    thickness_mm: float | None = None
    stone_min_mm: float | None = None
    stone_max_mm: float | None = None
    porosity: float | None = None


_BEDDING = TypicalLayer("bedding", "washed chippings, No. 8", 40, 2.4, 9.5, 0.40)
_BASE = TypicalLayer("base", "open-graded stone, No. 57", 100, 4.8, 25, 0.40)
_SUBBASE = TypicalLayer("subbase", "open-graded stone, No. 2", 250, 37.5, 63, 0.40)
_BELOW = (TypicalLayer("geotextile", "nonwoven, separation"), TypicalLayer("subgrade", "uncompacted soil"))
_UNDER_UNITS = (_BEDDING, _BASE, _SUBBASE, *_BELOW)

_JOINT_CHIPPINGS = TypicalLayer("joint_fill", "washed chippings, No. 89", 75, 1.2, 9.5, 0.38)

_TOPS: dict[str, tuple[TypicalLayer, ...]] = {
    "picp": (TypicalLayer("surface_course", "concrete pavers", 80), _JOINT_CHIPPINGS),
    "clay": (TypicalLayer("surface_course", "clay pavers", 70), _JOINT_CHIPPINGS),
    "resin_joint": (
        TypicalLayer("surface_course", "natural stone setts", 80),
        TypicalLayer("joint_fill", "permeable resin mortar", 50, 1, 3, 0.30),
    ),
    "concrete_grid": (
        TypicalLayer("surface_course", "concrete grid units", 100),
        TypicalLayer("joint_fill", "chippings in the cells", 90, 2, 8, 0.38),
    ),
    "plastic_grid": (
        TypicalLayer("surface_course", "plastic grid", 50),
        TypicalLayer("joint_fill", "gravel in the cells", 50, 4, 16, 0.40),
    ),
}

_MONOLITHIC: dict[str, tuple[TypicalLayer, ...]] = {
    "resin_bound": (
        TypicalLayer("surface_course", "resin-bound aggregate", 18, 2, 5, 0.25),
        TypicalLayer("bedding", "open asphalt binder course", 60, 4, 16, 0.20),
        _BASE,
        _SUBBASE,
        *_BELOW,
    ),
    "pervious_concrete": (
        TypicalLayer("surface_course", "pervious concrete", 150, 4, 10, 0.20),
        TypicalLayer("base", "open-graded stone, No. 57", 250, 4.8, 25, 0.40),
        *_BELOW,
    ),
    "porous_asphalt": (
        TypicalLayer("surface_course", "porous asphalt", 70, 2, 11, 0.18),
        TypicalLayer("bedding", "choker course, No. 57", 25, 4.8, 25, 0.40),
        _SUBBASE,
        *_BELOW,
    ),
    "gravel": (TypicalLayer("surface_course", "washed gravel", 60, 4, 16, 0.40), _BASE, _SUBBASE, *_BELOW),
}


def typical_layers(surface_type: str) -> tuple[TypicalLayer, ...]:
    """Layers from the top down, as a first entry to be corrected against what was built.

    Source: see SOURCE. Raises KeyError for an unknown type.
    """
    if surface_type in _MONOLITHIC:
        return _MONOLITHIC[surface_type]
    return (*_TOPS[surface_type], *_UNDER_UNITS)
