"""The nine kinds of permeable surface, by the keys used throughout."""

from enum import StrEnum


class SurfaceType(StrEnum):
    """What the water goes through at the top."""

    PICP = "picp"
    CLAY = "clay"
    RESIN_JOINT = "resin_joint"
    RESIN_BOUND = "resin_bound"
    PERVIOUS_CONCRETE = "pervious_concrete"
    POROUS_ASPHALT = "porous_asphalt"
    CONCRETE_GRID = "concrete_grid"
    PLASTIC_GRID = "plastic_grid"
    GRAVEL = "gravel"


SURFACE_NAMES = {
    SurfaceType.PICP: "permeable interlocking concrete pavers",
    SurfaceType.CLAY: "permeable clay pavers",
    SurfaceType.RESIN_JOINT: "natural stone with permeable resin joints",
    SurfaceType.RESIN_BOUND: "resin-bound aggregate",
    SurfaceType.PERVIOUS_CONCRETE: "pervious concrete",
    SurfaceType.POROUS_ASPHALT: "porous asphalt",
    SurfaceType.CONCRETE_GRID: "concrete grid",
    SurfaceType.PLASTIC_GRID: "plastic grid",
    SurfaceType.GRAVEL: "open gravel",
}
