"""What keeps a permeable surface draining: advice by surface type, each piece with its source."""

from dataclasses import dataclass, replace

from core.calc.paving import SurfaceType
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from qa.calc.sources import Source, SourceStatus, guidance, looked_up

MINNESOTA = looked_up(
    gettext_noop("Minnesota Stormwater Manual, operation and maintenance of permeable pavement")
)
ASPHALT = guidance(gettext_noop("Asphalt pavement association, maintenance of porous asphalt"))
ONTARIO = looked_up(gettext_noop("Ontario low impact development guide, permeable pavement maintenance"))
REGRITTED = guidance(gettext_noop("UK practice guidance on concrete block permeable paving"))
RESIN_BOUND = guidance(gettext_noop("General reference work on resin-bound paving"))
CONCRETE = guidance(
    gettext_noop("Summary of a concrete association's guide to pervious concrete maintenance, 2015")
)
LANDSCAPE = guidance(gettext_noop("UK local guide on sustainable drainage, detailed design"))
JOINTS = guidance(gettext_noop("Joint stone of permeable pavers, trade guidance"))
PRACTICE = Source(gettext_noop("Common practice"), SourceStatus.COMMON_PRACTICE)


@dataclass(frozen=True, slots=True)
class Upkeep:
    """One piece of advice with its source."""

    advice: str
    source: Source


_ALL = (
    Upkeep(gettext_noop("Look at it each spring, and after large storms in the first months."), ONTARIO),
    Upkeep(
        gettext_noop(
            "After a storm of more than 13 mm (1/2 in), look into the observation well: water still there after "
            "3 days says that the ground below no longer takes it."
        ),
        MINNESOTA,
    ),
    Upkeep(
        gettext_noop(
            "No sand for traction. No seal coat. No snow, soil, mulch or building material piled on it."
        ),
        MINNESOTA,
    ),
    Upkeep(
        gettext_noop("Patch at most 10 % of the area with anything that lets no water through."), MINNESOTA
    ),
    Upkeep(
        gettext_noop(
            "Keep planting soil 50 mm (2 in) below the edge of the paving, and slope the ground away from it."
        ),
        LANDSCAPE,
    ),
    Upkeep(gettext_noop("Salt sparingly: it is not held back and reaches the groundwater."), ONTARIO),
)

_STONE_JOINTS = (
    Upkeep(
        gettext_noop("Vacuum two to four times a year: end of winter, summer, after the leaves are down."),
        MINNESOTA,
    ),
    Upkeep(
        gettext_noop("Look at the joints after about 6 months and top them up; new joints settle."), JOINTS
    ),
    Upkeep(
        gettext_noop(
            "Top up joint stone that has sunk more than 13 mm (1/2 in), with the same size as specified."
        ),
        JOINTS,
    ),
    Upkeep(gettext_noop("Count on renewing the joint stone after 10 to 20 years."), REGRITTED),
)

BY_TYPE: dict[SurfaceType, tuple[Upkeep, ...]] = {
    SurfaceType.PICP: _STONE_JOINTS,
    SurfaceType.CLAY: _STONE_JOINTS,
    SurfaceType.RESIN_JOINT: (
        Upkeep(
            gettext_noop(
                "Sweep with a soft brush and rinse gently; no solvent and no wire brush on the joints."
            ),
            PRACTICE,
        ),
        Upkeep(
            gettext_noop("Test each year: joints of this kind vary from highly to slightly permeable."),
            PRACTICE,
        ),
    ),
    SurfaceType.RESIN_BOUND: (
        Upkeep(gettext_noop("Sweep or power-wash at least twice a year."), RESIN_BOUND),
        Upkeep(gettext_noop("Soft brush, low pressure, no solvent, no wire brush."), PRACTICE),
    ),
    SurfaceType.PERVIOUS_CONCRETE: (
        Upkeep(
            gettext_noop("Vacuum two to four times a year; no mechanical broom that grinds fines in."),
            MINNESOTA,
        ),
        Upkeep(
            gettext_noop(
                "Never magnesium chloride, calcium magnesium acetate, potassium acetate or ammonium-based de-icers."
            ),
            CONCRETE,
        ),
    ),
    SurfaceType.POROUS_ASPHALT: (
        Upkeep(
            gettext_noop("Vacuum at least twice a year; no mechanical broom that grinds fines in."), ASPHALT
        ),
        Upkeep(gettext_noop("Far less salt is needed than on dense asphalt."), ASPHALT),
    ),
    SurfaceType.CONCRETE_GRID: (
        Upkeep(
            gettext_noop("Replace the top of the fill when water stands; mow where it is planted."), PRACTICE
        ),
    ),
    SurfaceType.PLASTIC_GRID: (
        Upkeep(gettext_noop("Keep the cells full; a wheel on an empty cell breaks it."), PRACTICE),
    ),
    SurfaceType.GRAVEL: (
        Upkeep(gettext_noop("Rake it, take out leaves, and replace the top when fines show."), PRACTICE),
    ),
}


def upkeep_of(surface_type: str) -> tuple[Upkeep, ...]:
    """Advice for a surface type in the reader's language, its own first. Raises ValueError for an unknown type."""
    return tuple(_looked_up(piece) for piece in (*BY_TYPE[SurfaceType(surface_type)], *_ALL))


def _looked_up(piece: Upkeep) -> Upkeep:
    return Upkeep(_(piece.advice), replace(piece.source, citation=_(piece.source.citation)))
