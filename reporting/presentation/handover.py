"""The handover record of a surface: its content once, as plain data, whatever renders it."""

from dataclasses import dataclass

from django.conf import settings

from core.calc.format import day, figure, format_measure, format_rate, format_short_length, percent
from core.calc.paving import CleaningMethod
from core.calc.units import Quantity, UnitSystem, to_display
from maintenance.calc.suitability import CARE, suited_methods
from maintenance.calc.upkeep import upkeep_of
from qa.models import ConstructionRecord, Layer, Surface
from qa.presentation import disclaimers
from qa.presentation.section import Picture, section_picture
from qa.selectors.construction import CheckState, RecordState, record_state
from qa.selectors.surface_limits import limit_known
from reporting.presentation.handover_checks import FilePart, StagePart, file_parts, stage_parts
from reporting.presentation.handover_tests import AcceptancePart, GradingPart, acceptance_part, grading_parts

CAUTIONS = (
    disclaimers.AID_ONLY,
    f"{disclaimers.ONE_SPOT_ONE_DAY} A check speaks for what was looked at, where and when.",
    "Criteria 'from memory' need verifying against the current edition; drawings, specification and data sheets of "
    "the job come first.",
    disclaimers.UTILITIES,
    disclaimers.DUST_AND_TRAFFIC,
    disclaimers.WASTE_AND_WELLS,
    disclaimers.SETBACKS,
)


@dataclass(frozen=True, slots=True)
class LayerPart:
    """One layer, from the top down."""

    kind: str
    material: str
    thickness: str
    stone: str
    voids: str


@dataclass(frozen=True, slots=True)
class AdvicePart:
    """Something to do or to mind, with where it comes from."""

    what: str
    source: str


@dataclass(frozen=True, slots=True)
class Handover:
    """What the handover record says, in the reader's units."""

    surface: str
    site: str
    address: str
    owner: str
    firm: str
    surface_type: str
    made_on: str
    units: str
    demo_notice: str
    checks_in_short: str
    complete: bool
    facts: list[tuple[str, str]]
    layers: list[LayerPart]
    drawing: Picture
    drawing_words: str
    stages: list[StagePart]
    gradings: list[GradingPart]
    acceptance: AcceptancePart
    limit: str
    limit_source: str
    files: list[FilePart]
    upkeep: list[AdvicePart]
    methods: list[AdvicePart]
    cautions: tuple[str, ...] = CAUTIONS


def handover(surface: Surface, *, units: str, for_paper: bool = False) -> Handover:
    """Everything the handover record says, read from the record."""
    record = ConstructionRecord.objects.filter(surface=surface).first()
    if record:
        record.surface = surface
    state = record_state(record, units) if record else None
    layers = list(surface.layers.all())
    limit = limit_known(surface, units)
    return Handover(
        surface=surface.name,
        site=surface.site.name,
        address=surface.site.address,
        owner=str(surface.site.owner),
        firm=str(surface.organisation),
        surface_type=str(surface.get_surface_type_display()),
        made_on=day(surface.site.today()),
        units=units,
        demo_notice=settings.DEMO_NOTICE,
        checks_in_short=checks_in_short(state),
        complete=bool(state and state.complete),
        facts=_facts(surface, units),
        layers=[_layer(layer, units) for layer in layers],
        drawing=section_picture(surface, units, for_paper=for_paper),
        drawing_words=_in_words(layers, units),
        stages=stage_parts(state, units) if state else [],
        gradings=grading_parts(surface),
        acceptance=acceptance_part(surface, units),
        limit=limit.reason if limit else format_rate(surface.limit_mm_h, units),
        limit_source=limit.source_in_full if limit else surface.limit_source,
        files=file_parts(surface.attachments.all()),
        upkeep=[AdvicePart(u.advice, u.source.in_full) for u in upkeep_of(surface.surface_type)],
        methods=_methods(surface),
    )


def checks_in_short(state: RecordState | None) -> str:
    """How the construction record stands, in a sentence or two."""
    if state is None:
        return "No construction record was kept."
    total = len(state.checks)
    if state.complete:
        said_parts = [f"All {total} checks are settled."]
    else:
        said_parts = [f"{state.settled} of {total} checks are settled."]
    if state.failed:
        said_parts.append(f"{len(state.failed)} failed and {_is(state.failed)} not put right yet.")
    if state.waived:
        said_parts.append(f"{len(state.waived)} {_is(state.waived)} waived.")
    return " ".join(said_parts)


def _is(rows: list[CheckState]) -> str:
    return "is" if len(rows) == 1 else "are"


def _facts(surface: Surface, units: str) -> list[tuple[str, str]]:
    run_on = (
        f"{format_measure(surface.run_on_area_m2, Quantity.AREA, units)}"
        f"{' of ' + surface.run_on_from if surface.run_on_from else ''}"
        if surface.run_on_area_m2
        else "none"
    )
    facts = [
        ("Area", format_measure(surface.area_m2, Quantity.AREA, units)),
        ("Opens on" if surface.opened_on > surface.site.today() else "Opened on", day(surface.opened_on)),
        ("Traffic", str(surface.get_traffic_display())),
        ("Drains on to it", run_on),
    ]
    if surface.joint_width_mm:
        facts.append(("Joint width", format_short_length(surface.joint_width_mm, units)))
    if surface.overflow_invert_mm is not None:
        height = format_short_length(surface.overflow_invert_mm, units)
        facts.append(("Overflow", f"{height} above the subgrade"))
    if surface.soil_rate_mm_h is not None:
        facts.append(("Design rate of the soil", format_rate(surface.soil_rate_mm_h, units)))
    if surface.reuse_store_m3:
        facts.append(("Reuse store", format_measure(surface.reuse_store_m3, Quantity.VOLUME, units)))
    return facts


def _layer(layer: Layer, units: str) -> LayerPart:
    low, high = layer.stone_min_mm, layer.stone_max_mm
    stone = format_short_length(high, units) if high else ""
    if high and low:
        stone = f"{_number(low, units)} to {stone}"
    return LayerPart(
        kind=str(layer.get_kind_display()),
        material=layer.material,
        thickness=format_short_length(layer.thickness_mm, units) if layer.thickness_mm else "",
        stone=stone,
        voids=percent(layer.porosity) if layer.porosity else "",
    )


def _number(length_mm: float, units: str) -> str:
    """A length without its unit, which follows after a second one."""
    return figure(to_display(length_mm, Quantity.SHORT_LENGTH, UnitSystem(units)).value)


def _in_words(layers: list[Layer], units: str) -> str:
    """What the drawing shows, for who cannot see it."""
    parts = []
    for layer in layers:
        thickness = f" {format_short_length(layer.thickness_mm, units)}" if layer.thickness_mm else ""
        parts.append(f"{layer.get_kind_display().lower()}{thickness}")
    return "Cross-section from the top down: " + ", ".join(parts) + "."


def _methods(surface: Surface) -> list[AdvicePart]:
    suited = suited_methods(surface.surface_type)
    return [AdvicePart(f"{CleaningMethod(key).label}: {CARE[key]}", "") for key in suited]
