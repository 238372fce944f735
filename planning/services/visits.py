"""Everything done to visits and their tasks."""

from collections.abc import Collection, Sequence
from datetime import date, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.models import Organisation, User
from core.calc.format import day as day_words
from core.calc.format import percent
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services.records import find_by_device_id, given_reason, save_once
from maintenance.calc.vocabulary import Action
from maintenance.models import CleaningEvent, Recommendation
from maintenance.services import recommendations
from planning.calc.vocabulary import LEFT, TaskOutcome, VisitStatus
from planning.models import Crew, Visit, VisitTask
from planning.services.visit_changes import forget_times, note_change
from qa.models import Inspection, InspectionFinding, SourceChange, Surface, TestRound
from qa.services.changes import bump_record_version

CLOSED = gettext_noop("This visit is %(status)s. Plan a new one instead.")
OTHER_FIRM = gettext_noop("%(what)s belongs to another firm.")
NOT_IN_PAST = gettext_noop("%(day)s is in the past. Give a day from today on.")
TASK_DONE = gettext_noop("This task has ended already. Reload the page to see how.")
ENDING = (
    "round",
    "cleaning",
    "inspection",
    "source_change",
    "finding",
    "outcome",
    "outcome_reason",
    "ended_at",
)
NOTHING_DONE = gettext_noop("Nothing could be done: %(why)s")
WANTS_WORD = gettext_noop(
    "This restoration costs more than the firm lets advice decide. Say that you have decided on it."
)
PLANNED_FINDING = gettext_noop("This finding is on a visit already. Change that visit instead.")
CLOSED_FINDING = gettext_noop("This finding is %(state)s already. Reload the page to see what was done.")


@transaction.atomic
def save_visit(*, visit: Visit) -> Visit:
    """Store a new or changed visit that is still to come."""
    first = find_by_device_id(visit, organisation=visit.organisation_id)
    if first:
        return first
    before = None if visit._state.adding else _lock_scheduled(visit)
    _refuse_other_firm(visit, visit.crew.organisation_id, str(visit.crew))
    if before is None or before.visit_on != visit.visit_on:
        refuse_past(visit.visit_on)
    saved = save_once(visit, "visit_on", "crew", "note", organisation=visit.organisation_id)
    if before is None:  # nothing is on it yet, so nobody is to be told of it
        return saved
    if (before.visit_on, before.crew_id) != (visit.visit_on, visit.crew_id):
        forget_times(visit_id=visit.pk)
    note_change(visit_id=saved.pk)
    return saved


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
    device_id: UUID | None = None,
    decided: bool = False,
    moment: str = "",
) -> Visit:
    """Take advice on: into the crew's visit of that day, which is made where there is none.

    Another method than advised needs a reason; what was advised stays readable. decided: that a person has decided on
    a restoration that asks for it, for its price; moment: where a test stands to the cleaning it is planned with. A
    repeat with one device id gives the visit of the first.
    """
    Recommendation.objects.select_for_update().get(pk=recommendation.pk)  # a repeat sent meanwhile waits here
    first = recommendation.tasks.filter(device_id=device_id).first() if device_id else None
    if first:
        return first.visit
    row = recommendations.lock_open(recommendation)
    if row.wants_word and not decided:
        raise ValidationError({"decided": _(WANTS_WORD)})
    organisation = row.surface.organisation
    changed = bool(method) and method != row.method
    if changed:
        given_reason(reason)
    visit = visit_for(by, visit_on, crew, organisation)
    add_task(
        visit=visit,
        surface=row.surface,
        action=row.action,
        method=method or row.method,
        recommendation=row,
        device_id=device_id,
        moment=moment,
    )
    recommendations.mark_planned(
        recommendation=row, by=by, reason=reason, planned_method=method if changed else ""
    )
    return visit


@transaction.atomic
def plan_all(
    *, recommendations: Sequence[Recommendation], by: User, visit_on: date, crew: Crew, decided: bool = False
) -> Visit:
    """Take several pieces of advice on at once, into one visit, as they are advised; all or none."""
    planned = [
        plan(recommendation=row, by=by, visit_on=visit_on, crew=crew, decided=decided)
        for row in recommendations
    ]
    return planned[0]


@transaction.atomic
def plan_finding(
    *, finding: InspectionFinding, by: User, visit_on: date, crew: Crew, device_id: UUID | None = None
) -> Visit:
    """Put what an inspection found on the crew's visit of that day, which is made where there is none.

    A repeat with one device id gives the visit of the first.
    """
    rows = InspectionFinding.objects.select_for_update(of=("self",)).select_related(
        "inspection__surface__site"
    )
    row = rows.get(pk=finding.pk)
    first = row.tasks.filter(device_id=device_id).first() if device_id else None
    if first:
        return first.visit
    if not row.is_open:
        raise NotAllowedNowError(_(CLOSED_FINDING) % {"state": row.finding_state.in_sentence})
    if row.tasks.filter(ended_at=None, visit__status=VisitStatus.SCHEDULED).exists():
        raise AlreadyDoneError(_(PLANNED_FINDING))
    surface = row.surface
    visit = visit_for(by, visit_on, crew, surface.organisation)
    add_task(visit=visit, surface=surface, action=Action.REPAIR, finding=row, device_id=device_id)
    return visit


def visit_for(by: User, visit_on: date, crew: Crew, organisation: Organisation) -> Visit:
    """The crew's visit of a day, which is made where there is none."""
    refuse_past(visit_on)
    same_day = Visit.objects.of_organisation(organisation).filter(
        visit_on=visit_on, crew=crew, status=VisitStatus.SCHEDULED
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
    finding: InspectionFinding | None = None,
    follows: VisitTask | None = None,
    device_id: UUID | None = None,
    moment: str = "",
) -> VisitTask:
    """Put a task on a visit that is still to come. A repeat with one device id gives the first row.

    follows: the task of which this one is what was left, or whose cleaning it tests; moment: where a test stands to the
    cleaning it is planned with, empty for one of its own
    """
    _lock_scheduled(visit)
    _refuse_other_firm(visit, surface.site.organisation_id, str(surface))
    task = VisitTask(
        visit=visit,
        surface=surface,
        action=action,
        method=method,
        recommendation=recommendation,
        inspection_finding=finding,
        follows=follows,
        device_id=device_id,
        moment=moment,
    )
    saved = save_once(task, visit=visit)
    note_change(visit_id=visit.pk)
    return saved


@transaction.atomic
def remove_task(*, task: VisitTask) -> None:
    """Take a task off a visit; the advice behind it is open again."""
    task = VisitTask.objects.select_for_update().get(pk=task.pk)
    if task.has_ended:
        raise NotAllowedNowError(_(TASK_DONE))
    task.delete()
    reopen([task])
    end_if_all_ended(task.visit_id)
    note_change(visit_id=task.visit_id)


@transaction.atomic
def cancel_visit(*, visit: Visit, reason: str) -> Visit:
    """Call a visit off, with the reason; the advice behind its open tasks is open again."""
    reason = given_reason(reason)
    visit = _lock_scheduled(visit)
    visit.status, visit.cancel_reason = VisitStatus.CANCELLED, reason
    visit.save(update_fields=["status", "cancel_reason"])
    reopen(list(visit.tasks.filter(ended_at=None)))
    note_change(visit_id=visit.pk)
    return visit


@transaction.atomic
def finish_task(
    *,
    task: VisitTask,
    round_: TestRound | None = None,
    cleaning: CleaningEvent | None = None,
    inspection: Inspection | None = None,
    source_change: SourceChange | None = None,
    finding: str = "",
) -> VisitTask:
    """Mark a task done by the record that proves it, or by what was found; the last one ends the visit.

    A cleaning of a part of the area does a part of it: the advice behind it is looked at anew for the rest.
    """
    task = VisitTask.objects.select_for_update().get(pk=task.pk)
    if task.has_ended:
        return task
    if task.visit.status == VisitStatus.CANCELLED:
        _refuse_closed(task.visit)
    if not (round_ or cleaning or inspection or source_change or finding.strip()):
        raise ValidationError({"finding": _("Say what was found, or record what was done.")})
    task.round, task.cleaning, task.inspection, task.source_change = (
        round_,
        cleaning,
        inspection,
        source_change,
    )
    task.finding = finding.strip()
    share = cleaning.share_of_area if cleaning else 1.0
    reason = left_of(share, task.surface.organisation.language) if share < 1.0 else ""
    return end_task(task=task, outcome=outcome_of(share), reason=reason)


def outcome_of(share_of_area: float) -> TaskOutcome:
    """How a cleaning of a share of the area ends its task."""
    return TaskOutcome.PART if share_of_area < 1.0 else TaskOutcome.DONE


def left_of(share_of_area: float, language: str) -> str:
    """The same in words of a language; empty where nothing is left."""
    if share_of_area >= 1.0:
        return ""
    with override(language):
        return _("{share} of the area was done").format(share=percent(share_of_area))


def end_task(*, task: VisitTask, outcome: TaskOutcome, reason: str = "") -> VisitTask:
    """End a locked task. What is left of it goes back: advice is looked at anew, a finding is open again.

    Advice of which another day still stands on a visit waits for that.
    """
    task.outcome, task.outcome_reason, task.ended_at = outcome, reason, now()
    task.save(update_fields=ENDING)
    if outcome is TaskOutcome.DONE and task.recommendation_id:
        _settle_advice({task.recommendation_id})
    elif outcome is not TaskOutcome.DONE:
        reopen([task])
    end_if_all_ended(task.visit_id)
    note_change(visit_id=task.visit_id)
    return task


def end_if_all_ended(visit_id: UUID) -> None:
    """A visit on which everything ended is done; one on which nothing could be done is called off, with why."""
    tasks = list(VisitTask.objects.filter(visit=visit_id))
    if not tasks or not all(task.has_ended for task in tasks):
        return
    scheduled = Visit.objects.filter(pk=visit_id, status=VisitStatus.SCHEDULED)
    if any(task.is_done for task in tasks):
        scheduled.update(status=VisitStatus.DONE)
    else:
        why = "; ".join(dict.fromkeys(task.outcome_reason for task in tasks))
        with override(tasks[0].surface.organisation.language):  # everybody of the firm reads it
            said = _(NOTHING_DONE) % {"why": why}
        scheduled.update(status=VisitStatus.CANCELLED, cancel_reason=said)


def reopen(tasks: list[VisitTask]) -> None:
    """Give back what tasks were for: the advice behind them is looked at anew once no day of it stands on a visit."""
    _settle_advice({task.recommendation_id for task in tasks if task.recommendation_id}, left=True)
    for task in tasks:
        bump_record_version(task.surface_id)


def _settle_advice(advice: Collection[UUID], *, left: bool = False) -> None:
    """Of advice that stands on no visit any more: it is done where all of it was, else what is left goes back.

    left: whether something is, even where no task says so
    """
    if not advice:
        return
    locked = Recommendation.objects.select_for_update().filter(pk__in=advice).order_by("pk")
    held = {row.pk for row in locked}  # days of one job that end at once wait for each other here
    rows = VisitTask.objects.filter(recommendation__in=held)
    ahead = rows.filter(ended_at=None, visit__status=VisitStatus.SCHEDULED)
    ended = held - set(ahead.values_list("recommendation", flat=True))
    undone = rows.filter(Q(outcome__in=LEFT) | Q(ended_at=None)).values_list("recommendation", flat=True)
    with_rest = ended if left else ended & set(undone)
    recommendations.drop_planned(recommendation_ids=with_rest)
    for pk in ended - with_rest:
        recommendations.mark_done(recommendation_id=pk)


def _refuse_closed(visit: Visit) -> None:
    if visit.status != VisitStatus.SCHEDULED:
        raise NotAllowedNowError(_(CLOSED) % {"status": visit.get_status_display().lower()})


def refuse_past(day: date) -> None:
    """Raises ValidationError for a day that is over everywhere on Earth."""
    earliest = (now() - timedelta(hours=12)).date()  # the day it still is somewhere on Earth
    if day < earliest:
        raise ValidationError({"visit_on": ValidationError(_(NOT_IN_PAST), params={"day": day_words(day)})})


def _refuse_other_firm(visit: Visit, organisation_id: object, what: str) -> None:
    if visit.organisation_id != organisation_id:
        raise ValidationError(_(OTHER_FIRM), params={"what": what})
