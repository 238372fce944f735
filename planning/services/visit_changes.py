"""What follows from a change of a visit: calendars show it anew, people are told; and the times of its tasks."""

from uuid import UUID

from django.db import transaction
from django.db.models import F, Q
from django.utils.timezone import now

from maintenance.calc.vocabulary import Action
from planning.calc.plan_payload import PlannedDay, PlannedStop
from planning.calc.vocabulary import Moment, VisitStatus
from planning.models import Crew, Visit, VisitTask
from planning.services.crew_notices import tell_crew
from planning.services.owner_notices import tell_readers

COLUMN_OF = {"advice": "recommendation", "finding": "inspection_finding", "task": "pk"}


def note_change(*, visit_id: UUID) -> None:
    """Raise the number by which calendars elsewhere tell that a visit changed, and have its owners told.

    Within the transaction of the change.
    """
    Visit.objects.filter(pk=visit_id).update(revision=F("revision") + 1, changed_at=now())
    tell_readers(visit_id=visit_id)
    tell_crew(visit_id=visit_id)


@transaction.atomic
def set_times(*, crew: Crew, day: PlannedDay) -> None:
    """Give the tasks of a crew's day the times of the plan that was accepted for it."""
    tasks = VisitTask.objects.filter(
        visit__crew=crew, visit__visit_on=day.on, visit__status=VisitStatus.SCHEDULED, ended_at=None
    )
    for stop in day.stops:
        tasks.filter(_stands_for(stop)).update(begins_min=stop.begins, ends_min=stop.ends)


def _stands_for(stop: PlannedStop) -> Q:
    """Tells the task that a stop has become among those of its crew's day."""
    kind, _, pk = stop.key.partition(" ")
    if stop.is_made:
        made = Q(recommendation=None, inspection_finding=None)
        return made & Q(surface=stop.surface, action=Action.TEST, moment=Moment(kind))
    if stop.due_by:
        unasked = Q(recommendation=None, inspection_finding=None, follows=None)
        return unasked & Q(surface=stop.surface, action=stop.due_by.work, moment="")
    if kind == "rest":
        return Q(follows=pk, action=F("follows__action"))  # a test of what it cleaned follows it, too
    return Q(**{COLUMN_OF[kind]: pk})


@transaction.atomic
def forget_times(*, visit_id: UUID) -> None:
    """Times were worked out for one crew and one day: with another they hold no longer."""
    VisitTask.objects.filter(visit=visit_id).update(begins_min=None, ends_min=None)
