"""Inspections as pages and documents show them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import figure
from qa.calc.drain_down import DrainDown, DrainJudgement, drain_down, drain_limit, judge_drain_down
from qa.calc.inspections import Answer, FindingState, InspectionItem, in_short
from qa.models import Inspection, InspectionFinding, Remedy, Surface

NO_LIMIT = gettext_noop(
    "No drain-down time is set for this surface. Water that stands 3 days after a storm says that the ground below "
    "clogs (Minnesota Stormwater Manual)."
)


@dataclass(frozen=True, slots=True)
class WellResult:
    """What the well showed, in a sentence, and what it says to the time allowed: None where none is set."""

    drained: DrainDown
    text: str
    judgement: DrainJudgement | None


def with_findings(rows: "QuerySet[Inspection]") -> "QuerySet[Inspection]":
    """The inspections with their findings, what was done about them, and photos, in a constant number of queries."""
    remedies = Remedy.objects.select_related("recorded_by").prefetch_related("attachments")
    findings = InspectionFinding.objects.select_related("inspection", "recorded_by").prefetch_related(
        Prefetch("remedies", remedies), "attachments"
    )
    return rows.select_related("recorded_by").prefetch_related(Prefetch("findings", findings))


def findings_of(inspection: Inspection) -> list[InspectionFinding]:
    """Its findings as they stand now, those set aside last; those that were replaced are left out."""
    rows = [row for row in inspection.findings.all() if row.state != "replaced"]
    return sorted(rows, key=lambda row: (not row.is_active, row.due_on, row.created_at))


def summary_of(inspection: Inspection) -> str:
    """How it came out, in a few words."""
    counted = [row for row in findings_of(inspection) if row.is_active]
    still_open = sum(row.finding_state is FindingState.OPEN for row in counted)
    return in_short(inspection.checklist, len(counted), still_open)


def answered(inspection: Inspection, answer: Answer) -> Sequence[InspectionItem]:
    """Items that were so answered."""
    return inspection.checklist.with_answer(answer)


def well_result(inspection: Inspection, surface: Surface) -> WellResult | None:
    """What the well showed; None where it was not read."""
    readings = inspection.well.readings
    if not readings:
        return None
    drained = drain_down(readings)
    limit = drain_limit(surface.drain_limit_h, surface.limit_preset)
    if limit is None:
        return WellResult(drained, f"{_said(drained)} {_(NO_LIMIT)}", None)
    judgement = judge_drain_down(drained, limit.hours)
    asked = _("It must be empty within {hours} h ({source}): {judgement}.").format(
        hours=figure(limit.hours), source=limit.source, judgement=judgement.label
    )
    return WellResult(drained, f"{_said(drained)} {asked}", judgement)


def _said(drained: DrainDown) -> str:
    stood, gone = figure(drained.at_least_h), figure(drained.at_most_h)
    if drained.at_most_h is None:
        seen = _("Water still stood in the well {stood} h after the rain")
    elif drained.at_least_h:
        seen = _("The stone ran empty between {stood} and {gone} h after the rain")
    else:
        seen = _("The stone was empty {gone} h after the rain")
    seen = seen.format(stood=stood, gone=gone)
    if drained.estimate_h is None:
        return f"{seen}."
    # Translators: {seen} is for instance "Water still stood in the well 24 h after the rain".
    said = _("{seen}; by the fall of the water it is empty after about {hours} h.")
    return said.format(seen=seen, hours=figure(drained.estimate_h))


def open_findings(surface: Surface) -> "QuerySet[InspectionFinding]":
    """What is to be corrected on a surface, the most pressing first."""
    return (
        InspectionFinding.objects.to_do().filter(inspection__surface=surface).order_by("due_on", "created_at")
    )


def open_sediment_findings(surfaces: Iterable[Surface]) -> dict[UUID, InspectionFinding]:
    """The oldest finding of sediment about which nothing was done, by surface; of those that have one."""
    rows = InspectionFinding.objects.to_do().filter(
        item=InspectionItem.SEDIMENT, inspection__surface__in=list(surfaces)
    )
    newest_first = rows.select_related("inspection").order_by("-inspection__inspected_on", "-created_at")
    return {row.inspection.surface_id: row for row in newest_first}
