"""A crew's day on paper, gathered from its visits. For the crew and its office alone."""

from collections.abc import Iterable, Sequence
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import NOTHING, format_measure
from core.calc.marks import marked
from core.calc.paving import CleaningMethod
from core.calc.units import L_PER_GAL, Quantity, UnitSystem, rounded_for_reading
from core.errors import UnusableRecordError
from maintenance.calc.joint_fill import SOURCE as JOINT_SOURCE
from maintenance.calc.joint_fill import joint_fill
from maintenance.calc.suitability import CARE
from maintenance.calc.vocabulary import Action
from planning.calc.loading import Water, equipment_for, water_for
from planning.models import Visit, VisitTask
from planning.presentation.crew_days import day_note, order_note, times_of
from planning.presentation.work_plans import clock
from planning.selectors.crew_days import CrewDay, SiteStop, crew_day
from qa.calc.buildups import LayerKind, TypicalLayer, typical_layers
from qa.calc.counts import locations_needed_m2
from qa.models import Layer, Surface
from qa.presentation import disclaimers
from qa.selectors.days import firm_today
from reporting.calc.crew_day import CrewDayPaper, JointLine, StopPart, SurfaceWork, WaterLine
from reporting.calc.values import UnitText, in_both

FILLS = (CleaningMethod.JOINT_REFILL, CleaningMethod.REJOINT_RESIN)
WATER_SOURCE = gettext_noop(
    "For the ring test at each spot, by the small mass or the large one (ASTM C1701/C1701M, C1781/C1781M, masses from "
    "memory). Other methods take more."
)
CAUTIONS = (
    disclaimers.UTILITIES,
    disclaimers.DUST_AND_TRAFFIC,
    disclaimers.WASTE_AND_WELLS,
    gettext_noop(
        "Local codes, the owner's rules on site and the firm's own safety instructions prevail over this paper."
    ),
)


def crew_day_paper(visit: Visit) -> CrewDayPaper:
    """The whole day of the visit's crew, whichever of its visits is asked for."""
    return paper_of_day(crew_day(visit.crew, visit.visit_on))


def paper_of_day(day: CrewDay) -> CrewDayPaper:
    """A crew's day with what it loads and minds."""
    crew = day.crew
    begins, ends = crew.shift_min
    tasks = [task for stop in day.stops for task in stop.tasks if not task.has_ended]
    return CrewDayPaper(
        key=crew.pk,
        firm=crew.organisation.name,
        crew=crew.name,
        on=day.on,
        made_on=firm_today(crew.organisation),
        people=", ".join(str(person) for person in crew.people.all()) or NOTHING,
        hours=_("{begins} to {ends}").format(begins=clock(begins), ends=clock(ends)),
        depot=crew.depot or NOTHING,
        depot_at=day.depot,
        order=order_note(day),
        warning=day_note(day),
        notes=_notes(day),
        stops=tuple(_stop(stop) for stop in day.stops),
        equipment=equipment_for((task.action, task.method) for task in tasks),
        joints=tuple(_joint_line(surface) for surface in _surfaces(tasks, FILLS)),
        joint_source=_(JOINT_SOURCE),
        waters=tuple(_water_line(surface) for surface in _tested(tasks)),
        water_source=_(WATER_SOURCE),
        cautions=tuple(_(caution) for caution in CAUTIONS),
        demo_notice=_(settings.DEMO_NOTICE),
    )


def _notes(day: CrewDay) -> tuple[str, ...]:
    return tuple(visit.note for visit in day.visits if visit.note)


def _stop(stop: SiteStop) -> StopPart:
    site = stop.site
    by_surface: dict[UUID, list[VisitTask]] = {}
    for task in stop.tasks:
        by_surface.setdefault(task.surface_id, []).append(task)
    surfaces = tuple(_work(tasks) for tasks in by_surface.values())
    return StopPart(
        stop.number, site.name, site.address, site.access_note, times_of(stop), stop.position, surfaces
    )


def _work(tasks: Sequence[VisitTask]) -> SurfaceWork:
    surface = tasks[0].surface
    kind = str(surface.get_surface_type_display())
    methods = dict.fromkeys(task.method for task in tasks if task.method)
    return SurfaceWork(
        surface.pk,
        surface.name,
        in_both(lambda units: f"{kind}, {format_measure(surface.area_m2, Quantity.AREA, units)}"),
        tuple(_("{task} (done)").format(task=task.title) if task.is_done else task.title for task in tasks),
        tuple(_(CARE[CleaningMethod(method)]) for method in methods),
    )


def _surfaces(tasks: Iterable[VisitTask], methods: Sequence[str]) -> list[Surface]:
    return list({task.surface_id: task.surface for task in tasks if task.method in methods}.values())


def _tested(tasks: Iterable[VisitTask]) -> list[Surface]:
    return list({task.surface_id: task.surface for task in tasks if task.action == Action.TEST}.values())


def _joint_line(surface: Surface) -> JointLine:
    layer, is_typical = _fill_of(surface)
    unknown = in_both(lambda units: _("cannot be estimated: weigh what comes out"))
    nothing = in_both(lambda units: _("as specified"))
    if layer is None or layer.thickness_mm is None or layer.porosity is None:
        return JointLine(str(surface), nothing, unknown, "")
    depth_mm, porosity = layer.thickness_mm, layer.porosity
    material = layer.material
    try:
        fill = joint_fill(surface.surface_type, surface.area_m2, surface.joint_width_mm, depth_mm, porosity)
    except UnusableRecordError as error:
        return JointLine(str(surface), UnitText(material, material), unknown, str(error))
    if fill is None:
        return JointLine(str(surface), UnitText(material, material), unknown, "")
    assumed = [_usual(depth_mm, porosity)] if is_typical else []
    mass = in_both(
        lambda units: _("about {mass}").format(mass=format_measure(fill.mass_kg, Quantity.MASS, units))
    )
    return JointLine(str(surface), UnitText(material, material), mass, ", ".join((*fill.assumed, *assumed)))


def _usual(depth_mm: float, porosity: float) -> str:
    said = _("{depth} mm deep, {porosity} voids")
    return said.format(depth=marked(f"{depth_mm:g}"), porosity=f"{porosity:.0%}")


def _fill_of(surface: Surface) -> tuple[Layer | TypicalLayer | None, bool]:
    """The layer of joint fill as it was recorded, else as it usually is; and whether it is the usual one."""
    recorded = next((row for row in surface.layers.all() if row.kind == LayerKind.JOINT_FILL), None)
    if recorded and recorded.thickness_mm and recorded.porosity:
        return recorded, False
    usual = typical_layers(surface.surface_type, surface.traffic)
    return next((row for row in usual if row.kind == LayerKind.JOINT_FILL), None), True


def _water_line(surface: Surface) -> WaterLine:
    spots = locations_needed_m2(surface.area_m2, UnitSystem.SI)
    return WaterLine(str(surface), spots, in_both(lambda units: _volume(water_for(spots), units)))


def _volume(water: Water, units: str) -> str:
    """A kilogram of water is a litre, near enough."""
    per_unit, unit = (1.0, "L") if units == UnitSystem.SI else (L_PER_GAL, "gal")
    low, high = (rounded_for_reading(kg / per_unit) for kg in water)
    return _("{low} to {high} {unit}").format(low=low, high=high, unit=unit)
