"""Finds the records that prove planned work: what was tested or cleaned about the day of a visit."""

from datetime import date, timedelta

from django.db import transaction

from core.calc.audit import AuditState
from maintenance.calc.vocabulary import Action
from maintenance.models import CleaningEvent
from planning.calc.vocabulary import VisitStatus
from planning.models import VisitTask
from planning.services.visits import finish_task
from qa.models import Surface, TestRound

NEAR = timedelta(days=14)  # a crew that comes a fortnight early or late still does the visit's work


@transaction.atomic
def match_records_to_tasks(*, surface: Surface) -> int:
    """Mark the surface's open tasks done where a test round or cleaning was recorded near the visit's day.

    Returns how many tasks were matched. Each record settles at most one task.
    """
    tasks = VisitTask.objects.select_for_update().filter(
        surface=surface, done_at=None, visit__status=VisitStatus.SCHEDULED
    )
    return sum(
        _match_one(task)
        for task in tasks.select_related("visit", "surface__site").order_by("visit__visit_on")
    )


def _match_one(task: VisitTask) -> bool:
    around = _days_of(task)
    if task.action == Action.TEST:
        rounds = TestRound.objects.active().filter(surface=task.surface_id, visit_task=None)
        found = (
            rounds.filter(tested_on__range=around, tests__state=AuditState.ACTIVE, tests__is_valid=True)
            .order_by("tested_on")
            .first()
        )
        if found:
            finish_task(task=task, round_=found)
        return found is not None
    if Action(task.action).cleans:
        events = CleaningEvent.objects.active().filter(surface=task.surface_id, visit_task=None)
        event = events.filter(cleaned_on__range=around).order_by("cleaned_on").first()
        if event:
            finish_task(task=task, cleaning=event)
        return event is not None
    return False


def _days_of(task: VisitTask) -> tuple[date, date]:
    """A fortnight about the visit, but not what was recorded for days before anybody planned it."""
    day = task.visit.visit_on
    planned_on = min(task.surface.site.today(task.created_at), day)
    return max(day - NEAR, planned_on), day + NEAR
