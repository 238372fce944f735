"""Finds the records that prove planned work: of the days about a visit, or of a finding that was to be corrected."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import override

from core.calc.audit import AuditState
from core.calc.paving import SourceChange as SourceChangeKind
from maintenance.calc.vocabulary import Action
from maintenance.models import CleaningEvent
from planning.calc.vocabulary import VisitStatus
from planning.models import VisitTask
from planning.selectors.due_work import FILLS_JOINTS
from planning.services.visits import finish_task
from qa.calc.inspections import FindingState
from qa.models import Inspection, InspectionFinding, SourceChange, Surface, TestRound

HAS_OPEN_TASKS = "has_open_tasks"
NEAR = timedelta(days=14)  # a crew that comes a fortnight early or late still does the visit's work


@transaction.atomic
def match_records_to_tasks(*, surface: Surface) -> int:
    """Mark the surface's open tasks done where their record was made near the visit's day, or their finding closed.

    Returns how many tasks were matched. Each record settles at most one task.
    """
    tasks = _open_tasks().select_for_update().filter(surface=surface)
    return sum(
        _match_one(task)
        for task in tasks.select_related("visit", "surface__site").order_by("visit__visit_on", "created_at")
    )


def with_open_tasks(surfaces: QuerySet[Surface]) -> QuerySet[Surface]:
    """Surfaces that know whether a visit is to do something there."""
    return surfaces.annotate(**{HAS_OPEN_TASKS: Exists(_open_tasks().filter(surface=OuterRef("pk")))})


def surfaces_with_open_tasks(surfaces: Iterable[Surface]) -> set[UUID]:
    """Ids of those surfaces on which a visit is to do something; reads nothing where they know it themselves."""
    listed = list(surfaces)
    unknown = [surface.pk for surface in listed if not hasattr(surface, HAS_OPEN_TASKS)]
    known = {surface.pk for surface in listed if getattr(surface, HAS_OPEN_TASKS, False)}
    if not unknown:
        return known
    return known | set(_open_tasks().filter(surface__in=unknown).values_list("surface", flat=True))


def _open_tasks() -> QuerySet[VisitTask]:
    return VisitTask.objects.filter(ended_at=None, visit__status=VisitStatus.SCHEDULED)


def _match_one(task: VisitTask) -> bool:
    if task.inspection_finding_id:
        return _match_finding(task)
    found = _record_for(task)
    if found:
        finish_task(task=task, **found)
    return bool(found)


def _record_for(task: VisitTask) -> dict[str, Any]:
    """The record that proves the task, as `finish_task` takes it; empty where there is none."""
    around, free = _days_of(task), {"surface": task.surface_id, "visit_task": None}
    row: Any = None
    if task.action == Action.TEST:
        valid = {"tests__state": AuditState.ACTIVE, "tests__is_valid": True}
        rounds = TestRound.objects.active().filter(**valid, **free)
        row, name = rounds.filter(tested_on__range=around).order_by("tested_on").first(), "round_"
    elif Action(task.action).cleans or task.action == Action.TOP_UP:
        fills = FILLS_JOINTS if task.action == Action.TOP_UP else Q()
        events = CleaningEvent.objects.active().filter(fills, **free)
        row, name = events.filter(cleaned_on__range=around).order_by("cleaned_on").first(), "cleaning"
    elif task.action == Action.INSPECT:
        seen = Inspection.objects.active().filter(**free)
        row, name = seen.filter(inspected_on__range=around).order_by("inspected_on").first(), "inspection"
    elif task.action == Action.SOURCE:
        changes = SourceChange.objects.active().filter(kind=SourceChangeKind.STOPPED, **free)
        row, name = changes.filter(changed_on__range=around).order_by("changed_on").first(), "source_change"
    return {name: row} if row else {}


def _match_finding(task: VisitTask) -> bool:
    """What was to be corrected is done when the finding is closed, whoever did it and when."""
    finding = _as_written_now(task.inspection_finding)
    if finding.pk != task.inspection_finding_id:
        task.inspection_finding = finding
        task.save(update_fields=["inspection_finding"])
    state = finding.finding_state
    if state is FindingState.OPEN:
        return False
    remedy = finding.remedy
    finish_task(task=task, finding=remedy.what if remedy else _aside(finding))
    return True


def _as_written_now(finding: Any) -> InspectionFinding:
    """The finding, or the correction that stands in its place."""
    while replaced := InspectionFinding.objects.filter(replaces=finding).first():
        finding = replaced
    row: InspectionFinding = finding
    return row


def _aside(finding: InspectionFinding) -> str:
    with override(finding.surface.organisation.language):  # everybody of the firm reads it
        return _("Set aside: {why}").format(why=_why(finding))


def _why(finding: InspectionFinding) -> str:
    return finding.state_reason or finding.inspection.state_reason


def _days_of(task: VisitTask) -> tuple[date, date]:
    """A fortnight about the visit, but not what was recorded for days before anybody planned it."""
    day = task.visit.visit_on
    planned_on = min(task.surface.site.today(task.created_at), day)
    return max(day - NEAR, planned_on), day + NEAR
