"""Opening a construction record: the checks of the surface's type, with the designed values of its layers."""

from collections.abc import Collection, Mapping
from types import MappingProxyType

from django.core.exceptions import ValidationError
from django.db import transaction

from accounts.models import User
from core.calc.paving import SurfaceType
from core.errors import AlreadyDoneError
from core.models.rows import validate_and_save
from core.services.records import find_by_device_id
from qa.calc.buildups import LayerKind
from qa.calc.check_model import Check, HeaviestUse, Stage
from qa.calc.check_progress import lifts_needed
from qa.calc.checks import checks_for
from qa.calc.soil import measured_rate_needed_mm_h
from qa.models import ConstructionCheck, ConstructionRecord, Surface

ALREADY = "%(surface)s has a construction record already. Open that one."
UNKNOWN_PART = "%(part)s is not a part of a build-up that can be left out."

# Parts that not every build-up has, by the stage whose checks come with them.
PARTS = (Stage.GEOTEXTILE, Stage.OVERFLOW, Stage.SUBBASE, Stage.BASE, Stage.EDGE)
PART_NAMES = MappingProxyType(
    {part.value: part.label for part in PARTS} | {Stage.OVERFLOW.value: "Overflow or underdrain"}
)
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
        "gravel_thickness": LayerKind.SURFACE_COURSE,
    }
)


def usual_parts(surface: Surface) -> list[str]:
    """Parts that the surface's layers show; all of them while no layer is recorded."""
    kinds = set(surface.layers.values_list("kind", flat=True))
    shown = {Stage.EDGE} | {part for part, kind in _LAYER_OF_PART.items() if kind in kinds}
    if surface.overflow_invert_mm is not None:
        shown.add(Stage.OVERFLOW)
    return [part.value for part in PARTS if not kinds or part in shown]


@transaction.atomic
def open_record(*, record: ConstructionRecord, parts: Collection[str], by: User) -> ConstructionRecord:
    """Store the record with its checks as they are asked today. Raises ValidationError, AlreadyDoneError.

    parts: those of PARTS that the build-up has; checks of the others are left away.
    """
    surface = Surface.objects.select_for_update().select_related("site").get(pk=record.surface_id)
    first = find_by_device_id(record, surface=surface)
    if first:
        return first
    if ConstructionRecord.objects.filter(surface=surface).exists():
        raise AlreadyDoneError(ALREADY % {"surface": surface})
    unknown = sorted(set(parts) - set(PARTS))
    if unknown:
        raise ValidationError(UNKNOWN_PART, params={"part": unknown[0]})
    record.opened_by = by
    validate_and_save(record)
    designs = _designs(surface)
    for position, check in enumerate(_wanted(record, parts), start=1):
        validate_and_save(_row(record, position, check, designs))
    return record


def _wanted(record: ConstructionRecord, parts: Collection[str]) -> list[Check]:
    away = {part for part in PARTS if part not in parts}
    kind = SurfaceType(record.surface.surface_type)
    checks = checks_for(kind, HeaviestUse(record.heaviest_use), record.subgrade_cbr)
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
    record: ConstructionRecord, position: int, check: Check, designs: Mapping[str, float]
) -> ConstructionCheck:
    per_lift = check.each == "lift"
    thickness = designs.get(f"{check.stage.value}_thickness")
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
        most_excluded=check.most_excluded,
        against_design=check.against_design,
        design=designs.get(check.key) if check.against_design else None,
        hold_point=check.hold_point,
        each=check.each,
        readings_asked=lifts_needed(check.stage, thickness) if per_lift else 1,
        source=check.source.citation,
        source_status=check.source.status.value,
    )
