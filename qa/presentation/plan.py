"""From the stored outline and locations to the plan drawing."""

from collections.abc import Iterable, Sequence

from core.calc.bounds import Bound
from core.calc.format import format_rate
from core.calc.paving import SurfaceType, TestMethod
from core.calc.payload import UNREADABLE
from core.calc.units import UnitSystem
from core.errors import UnreadablePayloadError, UnusableRecordError
from qa.calc.counts import SurfacePlan, Zone
from qa.models import InfiltrationTest, Location, Outline, Surface
from qa.presentation.drawing.plan import Mark, draw_plan
from qa.presentation.section import Picture
from qa.selectors.rounds import spots_of

LAID_OF_UNITS = (
    SurfaceType.PICP,
    SurfaceType.CLAY,
    SurfaceType.RESIN_JOINT,
    SurfaceType.CONCRETE_GRID,
    SurfaceType.PLASTIC_GRID,
)


def plan_picture(surface: Surface, units: str, *, for_paper: bool = False) -> Picture:
    """The plan of a surface with its locations and their last ring rates; empty without an outline."""
    outline = Outline.objects.filter(surface=surface).first()
    if outline is None:
        return Picture()
    try:
        plan = outline.plan
    except UnreadablePayloadError:
        return Picture(problem=UNREADABLE)
    placed = surface.locations.filter(retired=False, x_m__isnull=False)
    return picture_of(surface, plan, marks_of(placed, units), units, for_paper=for_paper)


def picture_of(
    surface: Surface, plan: SurfacePlan, marks: Sequence[Mark], units: str, *, for_paper: bool = False
) -> Picture:
    """A plan, stored or only proposed, as SVG text."""
    try:
        svg = draw_plan(
            plan,
            marks,
            name=surface.name,
            jointed=surface.surface_type in LAID_OF_UNITS,
            system=UnitSystem(units),
            css_variables=not for_paper,
            id_prefix=f"plan-{surface.pk.hex[:8]}",
        )
    except UnusableRecordError as error:
        return Picture(problem=str(error))
    return Picture(svg=svg)


def marks_of(locations: Iterable[Location], units: str) -> list[Mark]:
    """Placed locations with what the ring last read there. Two queries."""
    listed = list(locations)
    notes = _last_rates(listed, units)
    return [
        Mark(p.label, Zone(p.zone), p.x_m, p.y_m, notes.get(p.pk, ""))
        for p in listed
        if p.x_m is not None and p.y_m is not None
    ]


def _last_rates(locations: Sequence[Location], units: str) -> dict[object, str]:
    tests = (
        InfiltrationTest.objects.in_active_rounds()
        .filter(location__in=locations, method=TestMethod.RING)
        .select_related("round", "location")
        .order_by("round__tested_on", "created_at")
    )
    last: dict[object, list[InfiltrationTest]] = {}
    for test in tests:
        same_round = last.get(test.location_id, [])
        kept = same_round if same_round and same_round[0].round_id == test.round_id else []
        last[test.location_id] = [*kept, test]
    return {place: _note(repeats, units) for place, repeats in last.items()}


def _note(repeats: Sequence[InfiltrationTest], units: str) -> str:
    (spot,) = spots_of(repeats)
    sign = "" if spot.rate.bound is Bound.EXACT else f"{spot.rate.bound.value} "
    return f"{sign}{format_rate(spot.rate.rate_mm_h, units)}"
