"""Opening a construction record: the checks of the surface's type, with the designed values of its layers."""

from collections.abc import Collection, Mapping
from types import MappingProxyType

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from core.calc.paving import SurfaceType
from core.calc.units import UnitSystem
from core.errors import AlreadyDoneError
from core.models.rows import validate_and_save
from core.services.records import find_by_device_id
from qa.calc.buildups import LayerKind
from qa.calc.check_model import Check, HeaviestUse, Stage
from qa.calc.check_progress import lifts_needed
from qa.calc.checks import BOUND_BEDS, checks_for
from qa.calc.sampling import Extent, Needed, readings_needed
from qa.calc.soil import measured_rate_needed_mm_h
from qa.calc.standards import ring_standard
from qa.models import ConstructionCheck, ConstructionRecord, Outline, Surface

ALREADY = gettext_noop("%(surface)s has a construction record already. Open that one.")
NO_UNITS = gettext_noop("%(type)s does not stand on a bed of its own. Leave the bound bed unticked.")
UNKNOWN_PART = gettext_noop("%(part)s is not a part of a build-up that can be left out.")

# Parts that not every build-up has, by the stage whose checks come with them.
PARTS = (Stage.GEOTEXTILE, Stage.OVERFLOW, Stage.SUBBASE, Stage.BASE, Stage.EDGE)
ALWAYS = frozenset({"surface_overflow"})  # a safe way over the surface is asked for with or without a pipe

_LAYER_OF_PART = MappingProxyType(
    {
        Stage.GEOTEXTILE: LayerKind.GEOTEXTILE,
        Stage.SUBBASE: LayerKind.SUBBASE,
        Stage.BASE: LayerKind.BASE,
    }
)
LAYER_OF_CHECK = MappingProxyType(
    {
        "subbase_thickness": LayerKind.SUBBASE,
        "base_thickness": LayerKind.BASE,
        "bound_thickness": LayerKind.BOUND_BED,
        "gravel_thickness": LayerKind.SURFACE_COURSE,
    }
)


def part_names() -> list[tuple[str, str]]:
    """The parts with what they are called, in the reader's language."""
    names = {part.value: part.label for part in PARTS}
    return list((names | {Stage.OVERFLOW.value: _("Overflow or underdrain")}).items())


def usual_parts(surface: Surface) -> list[str]:
    """Parts that the surface's layers show; all of them while no layer is recorded."""
    kinds = set(surface.layers.values_list("kind", flat=True))
    shown = {Stage.EDGE} | {part for part, kind in _LAYER_OF_PART.items() if kind in kinds}
    if surface.overflow_invert_mm is not None:
        shown.add(Stage.OVERFLOW)
    return [part.value for part in PARTS if not kinds or part in shown]


def has_bound_bed(surface: Surface) -> bool:
    """Whether the layers show units on a bound bed."""
    return surface.layers.filter(kind=LayerKind.BOUND_BED.value).exists()


@transaction.atomic
def open_record(
    *, record: ConstructionRecord, parts: Collection[str], by: User, units: str = UnitSystem.SI
) -> ConstructionRecord:
    """Store the record with its checks as they are asked today. Raises ValidationError, AlreadyDoneError.

    parts: those of PARTS that the build-up has; checks of the others are left out. units: whose areas and lifts the
    readings are counted by.
    """
    surface = Surface.objects.select_for_update().select_related("site").get(pk=record.surface_id)
    first = find_by_device_id(record, surface=surface)
    if first:
        return first
    if ConstructionRecord.objects.filter(surface=surface).exists():
        raise AlreadyDoneError(_(ALREADY) % {"surface": surface})
    unknown = sorted(set(parts) - set(PARTS))
    if unknown:
        raise ValidationError(_(UNKNOWN_PART), params={"part": unknown[0]})
    if record.bound_bed and surface.surface_type not in BOUND_BEDS:
        raise ValidationError(
            {"bound_bed": ValidationError(_(NO_UNITS), params={"type": surface.get_surface_type_display()})}
        )
    record.opened_by = by
    validate_and_save(record)
    designs, extent, system = _designs(surface), extent_of(surface), UnitSystem(units)
    for position, check in enumerate(_wanted(record, parts), start=1):
        lifts = lifts_needed(check.stage, designs.get(f"{check.stage.value}_thickness"), system)
        needed = readings_needed(check, extent, system, lifts)
        validate_and_save(_row(record, position, check, designs, needed))
    return record


def extent_of(surface: Surface) -> Extent:
    """The recorded area, with the edge as it was drawn."""
    outline = Outline.objects.filter(surface=surface).first()
    return Extent(surface.area_m2, outline.plan.edge_m) if outline else Extent.of_area(surface.area_m2)


def _wanted(record: ConstructionRecord, parts: Collection[str]) -> list[Check]:
    away = {part for part in PARTS if part not in parts}
    kind = SurfaceType(record.surface.surface_type)
    checks = checks_for(kind, HeaviestUse(record.heaviest_use), record.subgrade_cbr, record.bound_bed)
    return [check for check in checks if check.stage not in away or check.key in ALWAYS]


def _designs(surface: Surface) -> dict[str, float]:
    """Designed values by key of the check, in the check's unit."""
    thickness: dict[str, float] = {}
    for layer in surface.layers.all():
        if layer.thickness_mm:
            thickness[layer.kind] = thickness.get(layer.kind, 0.0) + layer.thickness_mm
    found: dict[str, float | None] = {key: thickness.get(kind.value) for key, kind in LAYER_OF_CHECK.items()}
    found |= {
        "overflow_invert": surface.overflow_invert_mm,
        "subgrade_soil_rate": _soil_asked(surface),
        "subgrade_level": 0.0,
        "joint_width": surface.joint_width_mm,
    }
    return {key: value for key, value in found.items() if value is not None}


def _soil_asked(surface: Surface) -> float | None:
    """What the opened subgrade must show: the design rate is the measured one over the safety factor."""
    design = surface.soil_rate_mm_h
    return None if design is None else measured_rate_needed_mm_h(design, surface.soil_safety_factor)


def _row(
    record: ConstructionRecord, position: int, check: Check, designs: Mapping[str, float], needed: Needed
) -> ConstructionCheck:
    kind = record.surface.surface_type
    source = ring_standard(kind) if check.stage is Stage.ACCEPTANCE else check.source
    return ConstructionCheck(
        record=record,
        position=position,
        key=check.key,
        stage=check.stage.value,
        asked=check.asked,
        otherwise=check.otherwise,
        unit=check.unit,
        least=check.least,
        most=check.most,
        least_us=check.least_us,
        most_us=check.most_us,
        most_excluded=check.most_excluded,
        against_design=check.against_design,
        design=designs.get(check.key) if check.against_design else None,
        hold_point=check.hold_point,
        each=check.each,
        readings_asked=needed.readings,
        readings_basis=needed.basis,
        source=source.citation,
        source_status=source.status.value,
    )
