"""From the stored outline and locations to the plan drawing."""

from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from core.calc.bounds import Bound
from core.calc.format import format_measure, format_rate
from core.calc.marks import marked
from core.calc.paving import SurfaceType
from core.calc.payload import UNREADABLE
from core.calc.units import Quantity, UnitSystem, to_display
from core.errors import UnreadablePayloadError, UnusableRecordError
from qa.calc.counts import Spot, Zone
from qa.calc.outlines import SurfacePlan, area_off_m2, coordinate_text
from qa.calc.rounds import Rate
from qa.models import Location, Outline, Surface
from qa.presentation.drawing.plan import Mark, draw_plan
from qa.presentation.section import Picture
from qa.selectors.rounds import last_ring_rates

LAID_OF_UNITS = (
    SurfaceType.PICP,
    SurfaceType.CLAY,
    SurfaceType.RESIN_JOINT,
    SurfaceType.CONCRETE_GRID,
    SurfaceType.PLASTIC_GRID,
)


def plan_picture(surface: Surface, units: str, *, for_paper: bool = False, numbered: bool = False) -> Picture:
    """The plan of a surface with its locations and their last ring rates; empty without an outline."""
    outline = Outline.objects.filter(surface=surface).first()
    if outline is None:
        return Picture()
    try:
        plan = outline.plan
    except UnreadablePayloadError:
        return Picture(problem=_(UNREADABLE))
    placed = surface.locations.filter(retired=False, x_m__isnull=False)
    return picture_of(surface, plan, marks_of(placed, units), units, for_paper=for_paper, numbered=numbered)


def picture_of(
    surface: Surface,
    plan: SurfacePlan,
    marks: Sequence[Mark],
    units: str,
    *,
    for_paper: bool = False,
    numbered: bool = False,
) -> Picture:
    """A plan, stored or only proposed, as SVG text."""
    return drawn_plan(
        plan,
        marks,
        units,
        name=surface.name,
        area_m2=surface.area_m2,
        jointed=surface.surface_type in LAID_OF_UNITS,
        id_prefix=f"plan-{surface.pk.hex[:8]}",
        for_paper=for_paper,
        numbered=numbered,
    )


def drawn_plan(
    plan: SurfacePlan,
    marks: Sequence[Mark],
    units: str,
    *,
    name: str,
    area_m2: float,
    jointed: bool,
    id_prefix: str,
    for_paper: bool = False,
    numbered: bool = False,
) -> Picture:
    """A plan from plain data as SVG text, or why it cannot be drawn."""
    try:
        svg = draw_plan(
            plan,
            marks,
            name=name,
            jointed=jointed,
            system=UnitSystem(units),
            css_variables=not for_paper,
            id_prefix=id_prefix,
            numbered=numbered,
        )
    except UnusableRecordError as error:
        return Picture(problem=str(error))
    return Picture(svg=svg, note=area_note(area_m2, plan, units))


def area_note(area_m2: float, plan: SurfacePlan, units: str) -> str:
    """That the outline does not enclose the area the surface is recorded with, in m²; empty where it does."""
    off = area_off_m2(plan.outline, area_m2)
    if off is None:
        return ""
    drawn, recorded = (format_measure(area, Quantity.AREA, units) for area in (off, area_m2))
    said = _(
        "The outline encloses {drawn}, but the surface is recorded with {recorded}. "
        "Check the outline, or correct the area of the surface."
    )
    return said.format(drawn=drawn, recorded=recorded)


def spot_rows(spots: Iterable[Spot], units: str) -> list[tuple[str, str, str, str]]:
    """Proposed spots as rows of a table: name, zone, x and y in the reader's units."""
    system = UnitSystem(units)

    def shown(length_m: float) -> str:
        return marked(coordinate_text(to_display(length_m, Quantity.LENGTH, system).value))

    return [
        (_("new {number}").format(number=n), _zone_word(spot.zone), shown(spot.x_m), shown(spot.y_m))
        for n, spot in enumerate(spots, start=1)
    ]


def _zone_word(zone: Zone) -> str:
    """A zone in one word."""
    return {
        Zone.EDGE: pgettext("zone", "edge"),
        Zone.INTERIOR: pgettext("zone", "interior"),
        Zone.LOW: pgettext("zone", "low"),
    }[zone]


def marks_of(locations: Iterable[Location], units: str) -> list[Mark]:
    """Placed locations with what the ring last read there. Two queries."""
    listed = list(locations)
    last = last_ring_rates(listed)
    return [
        Mark(p.label, Zone(p.zone), p.x_m, p.y_m, note_of(last.get(p.pk), units))
        for p in listed
        if p.x_m is not None and p.y_m is not None
    ]


def note_of(rate: Rate | None, units: str) -> str:
    """A rate as the short line under a mark; empty without one."""
    if rate is None:
        return ""
    sign = "" if rate.bound is Bound.EXACT else f"{rate.bound.value} "
    return f"{sign}{format_rate(rate.rate_mm_h, units)}"
