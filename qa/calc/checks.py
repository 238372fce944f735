"""Construction checks: what is looked at, layer by layer, before the next layer hides it.

Each surface type has its list in the order of building. A criterion has its source and status; where
none could be looked up it says so. Drawings, specification and the product data sheets of a job come
before any of these.
"""

from dataclasses import replace

from core.calc.paving import SurfaceType
from core.calc.translation import gettext_noop
from qa.calc import check_sources as src
from qa.calc import checks_ground as ground
from qa.calc import checks_surface as surface
from qa.calc.check_model import STAGE_ORDER, Check, HeaviestUse

_RESIN_JOINT_SLOPE = replace(
    surface.SLOPE[0],
    asked=gettext_noop("Slope of the surface; needed where large units leave little joint area."),
    source=src.PRACTICE,
)

BOUND_BEDS = (SurfaceType.PICP, SurfaceType.CLAY, SurfaceType.RESIN_JOINT)
ON_A_BED = (*BOUND_BEDS, SurfaceType.CONCRETE_GRID)
ONLY_ON_LOOSE_BED = frozenset({"unit_seating"})  # a plate breaks the bond of units that are set in a wet bed


def checks_for(
    surface_type: SurfaceType,
    use: HeaviestUse = HeaviestUse.VEHICLE,
    subgrade_cbr: float | None = None,
    bound_bed: bool = False,
) -> tuple[Check, ...]:
    """Checks of a surface type in the order of building.

    subgrade_cbr: percent, for the overlap of the geotextile; None where unknown. bound_bed: whether units stand on
    drainage concrete or a bound bedding with a bonding agent; only on those of BOUND_BEDS.
    """
    checks = (
        *ground.ground_checks(subgrade_cbr),
        *ground.SUBBASE,
        *ground.BASE,
        *ground.EDGE,
        *_bed(surface_type, use, bound_bed),
        *_course(surface_type, use, bound_bed),
        *surface.ACCEPTANCE,
    )
    return tuple(sorted(checks, key=lambda check: STAGE_ORDER.index(check.stage)))


def _bed(kind: SurfaceType, use: HeaviestUse, bound: bool) -> tuple[Check, ...]:
    """What units stand on. Loose stone is asked to be loose and not mortar; a bound bed is asked to be bound."""
    if bound and kind in BOUND_BEDS:
        return (*ground.BOUND_BED, ground.bound_cure(use))
    return ground.BEDDING if kind in ON_A_BED else ()


def _course(kind: SurfaceType, use: HeaviestUse, bound: bool) -> tuple[Check, ...]:
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
    checks = by_type[kind](use)
    return tuple(check for check in checks if check.key not in ONLY_ON_LOOSE_BED) if bound else checks


def _picp(use: HeaviestUse) -> tuple[Check, ...]:
    return (
        *surface.unit_checks(use),
        surface.JOINT_WIDTH_PICP,
        surface.OPEN_AREA,
        *surface.STONE_JOINTS,
        surface.flat_check(SurfaceType.PICP, src.TOLERANCES),
        *surface.UNIT_FINISH,
        surface.OPENINGS,
    )


def _clay(use: HeaviestUse) -> tuple[Check, ...]:
    """As concrete pavers; the tolerances were written for those, so they are our default here."""
    as_own = [
        replace(check, source=src.OWN) if check.source is src.TOLERANCES else check
        for check in (*surface.unit_checks(use, surface.CLAY_UNITS, src.CLAY_SIZES), *surface.UNIT_FINISH)
    ]
    return (
        *as_own,
        surface.JOINT_WIDTH_DESIGN,
        surface.OPEN_AREA,
        *surface.STONE_JOINTS,
        surface.flat_check(SurfaceType.CLAY, src.OWN),
        surface.OPENINGS,
    )


def _resin_joint(use: HeaviestUse) -> tuple[Check, ...]:
    lippage, _, _ = surface.UNIT_FINISH
    return (
        surface.JOINT_WIDTH_DESIGN,
        surface.OPEN_AREA,
        *surface.RESIN_JOINTS,
        *surface.RESIN_JOINT_CURE,
        surface.flat_check(SurfaceType.RESIN_JOINT, src.OWN),
        replace(lippage, source=src.OWN),
        _RESIN_JOINT_SLOPE,
    )


def _resin_bound(use: HeaviestUse) -> tuple[Check, ...]:
    return (
        *surface.resin_bound_checks(use),
        surface.flat_check(SurfaceType.RESIN_BOUND, src.OWN),
        *surface.SLOPE,
    )


def _pervious_concrete(use: HeaviestUse) -> tuple[Check, ...]:
    flat = surface.flat_check(SurfaceType.PERVIOUS_CONCRETE, src.OWN)
    return (*surface.PERVIOUS_CONCRETE, flat, *surface.SLOPE)


def _porous_asphalt(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.POROUS_ASPHALT, surface.flat_check(SurfaceType.POROUS_ASPHALT, src.OWN), *surface.SLOPE)


def _concrete_grid(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.CONCRETE_GRID, surface.flat_check(SurfaceType.CONCRETE_GRID, src.OWN), *surface.SLOPE)


def _plastic_grid(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.PLASTIC_GRID, surface.flat_check(SurfaceType.PLASTIC_GRID, src.OWN), *surface.SLOPE)


def _gravel(use: HeaviestUse) -> tuple[Check, ...]:
    return (*surface.GRAVEL, *surface.SLOPE)
