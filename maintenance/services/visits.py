"""Everything done to crews, visits, their tasks and agreements."""

from datetime import date, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.timezone import now

from accounts.models import Organisation, User
from accounts.rows import Fact, store
from accounts.services.facts import given_reason
from maintenance.models import Action, Agreement, CleaningEvent, Crew, Recommendation, Visit, VisitTask
from qa.models import Surface, TestRound
from qa.services.changes import touch

NEAR = timedelta(days=14)  # a crew that comes a fortnight early or late still does the visit's work

CLOSED = "This visit is %(status)s. Plan a new one instead."
OTHER_FIRM = "%(what)s belongs to another firm."
ALREADY_DECIDED = "This advice is already %(status)s. Reload the page to see the newest."
NOT_IN_PAST = "%(day)s is in the past. Give a day from today on."
TASK_DONE = "This task is already done."


@transaction.atomic
def save_crew(*, crew: Crew, people: list[User] | None = None) -> Crew:
    """Store a new or changed crew."""
    store(crew)
    if people is not None:
        crew.people.set(people)
    return crew


@transaction.atomic
def save_agreement(*, agreement: Agreement) -> Agreement:
    """Store what the owner bought; the site's advice is made anew."""
    store(agreement)
    for surface in agreement.site.surfaces.all():
        touch(surface.pk)
    return agreement


@transaction.atomic
def save_visit(*, visit: Visit) -> Visit:
    """Store a new or changed visit that is still to come."""
    before = None if visit._state.adding else _lock_scheduled(visit)
    _refuse_other_firm(visit, visit.crew.organisation_id, str(visit.crew))
    if before is None or before.visit_on != visit.visit_on:
        _refuse_past(visit.visit_on)
    store(visit, "visit_on", "crew", "note")
    return visit


def _lock_scheduled(visit: Visit) -> Visit:
    """The visit as it is stored now, held until the end of the transaction, so that nobody calls it off meanwhile."""
    current = Visit.objects.select_for_update().get(pk=visit.pk)
    _refuse_closed(current)
    return current


@transaction.atomic
def plan(
    *,
    recommendation: Recommendation,
    by: User,
    visit_on: date,
    crew: Crew,
    method: str = "",
    reason: str = "",
) -> Visit:
    """Take advice on: into the crew's visit of that day, which is made where there is none.

    Another method than advised needs a reason; what was advised stays readable.
    """
    row = _take_open(recommendation)
    organisation = row.surface.organisation
    changed = bool(method) and method != row.method
    if changed:
        given_reason(reason)
    visit = _visit_for(by, visit_on, crew, organisation)
    add_task(
        visit=visit,
        surface=row.surface,
        action=row.action,
        method=method or row.method,
        recommendation=row,
    )
    row.changed_from = {"method": row.method} if changed else None
    _decide(row, Recommendation.Status.PLANNED, by, reason)
    return visit


def _visit_for(by: User, visit_on: date, crew: Crew, organisation: Organisation) -> Visit:
    _refuse_past(visit_on)
    same_day = Visit.objects.of_organisation(organisation).filter(
        visit_on=visit_on, crew=crew, status=Visit.Status.SCHEDULED
    )
    return same_day.first() or save_visit(
        visit=Visit(organisation=organisation, visit_on=visit_on, crew=crew, planned_by=by)
    )


@transaction.atomic
def add_task(
    *,
    visit: Visit,
    surface: Surface,
    action: str,
    method: str = "",
    recommendation: Recommendation | None = None,
) -> VisitTask:
    """Put a task on a visit that is still to come."""
    _lock_scheduled(visit)
    _refuse_other_firm(visit, surface.site.organisation_id, str(surface))
    task = VisitTask(
        visit=visit, surface=surface, action=action, method=method, recommendation=recommendation
    )
    store(task)
    return task


@transaction.atomic
def remove_task(*, task: VisitTask) -> None:
    """Take a task off a visit; the advice behind it is open again."""
    task = VisitTask.objects.select_for_update().get(pk=task.pk)
    if task.is_done:
        raise ValidationError(TASK_DONE)
    task.delete()
    _reopen([task])
    _end_if_all_done(task.visit_id)


@transaction.atomic
def cancel_visit(*, visit: Visit, reason: str) -> Visit:
    """Call a visit off, with the reason; the advice behind its open tasks is open again."""
    reason = given_reason(reason)
    visit = _lock_scheduled(visit)
    visit.status, visit.cancel_reason = Visit.Status.CANCELLED, reason
    visit.save(update_fields=["status", "cancel_reason"])
    _reopen(list(visit.tasks.filter(done_at=None)))
    return visit


@transaction.atomic
def decline(*, recommendation: Recommendation, by: User, reason: str) -> Recommendation:
    """Turn advice down, with the reason."""
    return _decide(_take_open(recommendation), Recommendation.Status.DECLINED, by, given_reason(reason))


@transaction.atomic
def finish_task(
    *,
    task: VisitTask,
    round_: TestRound | None = None,
    cleaning: CleaningEvent | None = None,
    finding: str = "",
) -> VisitTask:
    """Mark a task done by the record that proves it, or by what was found; the last one ends the visit."""
    task = VisitTask.objects.select_for_update().get(pk=task.pk)
    if task.is_done:
        return task
    if task.visit.status == Visit.Status.CANCELLED:
        _refuse_closed(task.visit)
    if not (round_ or cleaning or finding.strip()):
        raise ValidationError({"finding": "Say what was found, or record the test or cleaning."})
    task.round, task.cleaning, task.finding, task.done_at = round_, cleaning, finding.strip(), now()
    task.save(update_fields=["round", "cleaning", "finding", "done_at"])
    if task.recommendation_id:
        Recommendation.objects.filter(pk=task.recommendation_id).update(status=Recommendation.Status.DONE)
    _end_if_all_done(task.visit_id)
    return task


def _end_if_all_done(visit_id: UUID) -> None:
    tasks = VisitTask.objects.filter(visit=visit_id)
    if tasks.exists() and not tasks.filter(done_at=None).exists():
        scheduled = Visit.objects.filter(pk=visit_id, status=Visit.Status.SCHEDULED)
        scheduled.update(status=Visit.Status.DONE)


@transaction.atomic
def settle(*, surface: Surface) -> int:
    """Mark the surface's open tasks done where a test round or cleaning was recorded near the visit's day.

    Returns how many tasks were settled. Each record settles at most one task.
    """
    tasks = VisitTask.objects.select_for_update().filter(
        surface=surface, done_at=None, visit__status=Visit.Status.SCHEDULED
    )
    return sum(
        _settle_one(task)
        for task in tasks.select_related("visit", "surface__site").order_by("visit__visit_on")
    )


def _settle_one(task: VisitTask) -> bool:
    around = _days_of(task)
    if task.action == Action.TEST:
        rounds = TestRound.objects.counting().filter(surface=task.surface_id, visit_task=None)
        found = (
            rounds.filter(tested_on__range=around, tests__state=Fact.State.RECORDED)
            .order_by("tested_on")
            .first()
        )
        if found:
            finish_task(task=task, round_=found)
        return found is not None
    if task.action in (Action.CLEAN, Action.REJOINT):
        events = CleaningEvent.objects.counting().filter(surface=task.surface_id, visit_task=None)
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


def _take_open(recommendation: Recommendation) -> Recommendation:
    row = Recommendation.objects.select_for_update().get(pk=recommendation.pk)
    if row.status != Recommendation.Status.OPEN:
        raise ValidationError(ALREADY_DECIDED, params={"status": row.get_status_display().lower()})
    return row


def _decide(row: Recommendation, status: str, by: User, reason: str) -> Recommendation:
    row.status, row.decided_by, row.decided_at, row.decision_reason = status, by, now(), reason.strip()
    row.save(update_fields=["status", "decided_by", "decided_at", "decision_reason", "changed_from"])
    return row


def _reopen(tasks: list[VisitTask]) -> None:
    # The advice itself may be outdated by now: drop it and have the surface looked at afresh.
    planned = Recommendation.objects.filter(
        pk__in=[task.recommendation_id for task in tasks], status=Recommendation.Status.PLANNED
    )
    planned.update(status=Recommendation.Status.OVERTAKEN)
    for task in tasks:
        touch(task.surface_id)


def _refuse_closed(visit: Visit) -> None:
    if visit.status != Visit.Status.SCHEDULED:
        raise ValidationError(CLOSED, params={"status": visit.get_status_display().lower()})


def _refuse_past(day: date) -> None:
    earliest = (now() - timedelta(hours=12)).date()  # the day it still is somewhere on Earth
    if day < earliest:
        raise ValidationError({"visit_on": ValidationError(NOT_IN_PAST, params={"day": day.isoformat()})})


def _refuse_other_firm(visit: Visit, organisation_id: object, what: str) -> None:
    if visit.organisation_id != organisation_id:
        raise ValidationError(OTHER_FIRM, params={"what": what})
