"""Construction checks: what is looked at, layer by layer, before the next layer hides it.

Each surface type has its list in the order of building. A criterion has its source and status; where
none could be looked up it says so. Drawings, specification and the product data sheets of a job come
before any of these.
"""

from dataclasses import replace

from core.calc.paving import SurfaceType
from qa.calc import check_sources as src
from qa.calc import checks_ground as ground
from qa.calc import checks_surface as surface
from qa.calc.check_model import STAGE_ORDER, Check, HeaviestUse

_RESIN_JOINT_SLOPE = replace(
    surface.SLOPE[0],
    asked="Slope of the surface; needed where large units leave little joint area.",
    source=src.PRACTICE,
)


def checks_for(
    surface_type: SurfaceType, use: HeaviestUse = HeaviestUse.VEHICLE, subgrade_cbr: float | None = None
) -> tuple[Check, ...]:
    """Checks of a surface type in the order of building.

    subgrade_cbr: percent, for the overlap of the geotextile; None where unknown.
    """
    checks = (
        *ground.ground_checks(subgrade_cbr),
        *ground.SUBBASE,
        *ground.BASE,
        *ground.EDGE,
        *_course(surface_type, use),
        *surface.ACCEPTANCE,
    )
    return tuple(sorted(checks, key=lambda check: STAGE_ORDER.index(check.stage)))


def _course(kind: SurfaceType, use: HeaviestUse) -> tuple[Check, ...]:
    by_type = {
        SurfaceType.PICP: _picp,
        SurfaceType.CLAY: _clay,
        SurfaceType.RESIN_JOINT: _resin_joint,
        SurfaceType.RESIN_BOUND: _resin_bound,
        SurfaceType.PERVIOUS_CONCRETE: _pervious_concrete,
        SurfaceType.POROUS_ASPHALT: _porous_asphalt,
        SurfaceType.CONCRETE_GRID: _concrete_grid,
        SurfaceType.PLASTIC_GRID: _plastic_grid,
        SurfaceType.GRAVEL: _gravel,
    }
    return by_type[kind](use)


def _picp(use: HeaviestUse) -> tuple[Check, ...]:
    return (
        *ground.BEDDING,
        *surface.unit_checks(use),
        surface.JOINT_WIDTH_PICP,
        surface.OPEN_AREA,
        *surface.STONE_JOINTS,
        surface.flat_check(src.TOLERANCES),
        *surface.UNIT_FINISH,
        surface.OPENINGS,
    )


def _clay(use: HeaviestUse) -> tuple[Check, ...]:
    """As concrete pavers; the tolerances were written for those, so they are our default here."""
    as_own = [
        replace(check, source=src.OWN) if check.source is src.TOLERANCES else check
        for check in (*surface.unit_checks(use, src.OWN), *surface.UNIT_FINISH)
    ]
    return (
        *ground.BEDDING,
        *as_own,
        surface.JOINT_WIDTH_DESIGN,
        surface.OPEN_AREA,
        *surface.STONE_JOINTS,
        surface.flat_check(src.OWN),
        surface.OPENINGS,
    )


def _resin_joint(use: HeaviestUse) -> tuple[Check, ...]:
    lippage, _, _ = surface.UNIT_FINISH
    return (
        *ground.BEDDING,
        surface.JOINT_WIDTH_DESIGN,
        surface.OPEN_AREA,
        *surface.RESIN_JOINTS,
        *surface.RESIN_JOINT_CURE,
        surface.flat_check(src.OWN),
        replace(lippage, source=src.OWN),
        _RESIN_JOINT_SLOPE,
    )


def _resin_bound(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.resin_bound_checks(use), surface.flat_check(src.OWN), *surface.SLOPE)


def _pervious_concrete(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.PERVIOUS_CONCRETE, surface.flat_check(src.OWN), *surface.SLOPE)


def _porous_asphalt(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.POROUS_ASPHALT, surface.flat_check(src.OWN), *surface.SLOPE)


def _concrete_grid(use: HeaviestUse) -> tuple[Check, ...]:
    return (*ground.BEDDING, *surface.CONCRETE_GRID, surface.flat_check(src.OWN), *surface.SLOPE)


def _plastic_grid(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.PLASTIC_GRID, surface.flat_check(src.OWN), *surface.SLOPE)


def _gravel(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.GRAVEL, *surface.SLOPE)
