"""How a day went, as the crew tells it: what was not done or only in part and why, and the hours that work took."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services.records import given_reason
from maintenance.calc.vocabulary import Action
from planning.calc.vocabulary import Moment, TaskOutcome
from planning.models import Crew, Visit, VisitTask
from planning.services.visits import add_task, end_task, visit_for

WANTS_RECORD = gettext_noop(
    "%(task)s is done by its record. Record it first, or say that it was not done and why."
)
NOTHING_LEFT = gettext_noop(
    "%(task)s has nothing left to plan: it was done, given up, or taken up again. Reload the page."
)
NOT_ENDED = gettext_noop("Hours are told of what was done. %(task)s is still to do.")
NO_CLEANING = gettext_noop("%(task)s has no cleaning on record. Record it first.")
TEST_PLANNED = gettext_noop("The test after this cleaning is on a visit already.")
CALLED_OFF = gettext_noop("This visit was called off. What is left of it can be planned again.")


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of one task. outcome: None leaves it as it is. taken_min: minutes of work; None where not told."""

    task: VisitTask
    outcome: TaskOutcome | None
    reason: str = ""
    taken_min: int | None = None


@transaction.atomic
def tell_day(*, visit: Visit, told: Sequence[Told]) -> Visit:
    """Store what a crew tells of its tasks, all or none.

    Raises ValidationError where a reason is missing or a task asks for its record, NotAllowedNowError where the visit
    was called off meanwhile.
    """
    # Tasks before their visit, as whatever ends a task does: the other way round two would wait for each other.
    locked = VisitTask.objects.filter(visit=visit).select_for_update(of=("self",)).order_by("pk")
    rows = {row.pk: row for row in locked.select_related("surface")}
    visit = Visit.objects.get(pk=visit.pk)
    for each in told:
        task = rows.get(each.task.pk)
        if task is None:
            gone = _("{task} was taken off the visit meanwhile. Reload the page.")
            raise NotAllowedNowError(gone.format(task=each.task.title))
        _tell(visit, task, each)
    visit.refresh_from_db()
    return visit


def _tell(visit: Visit, task: VisitTask, told: Told) -> None:
    if told.outcome and told.outcome != task.outcome:
        if visit.is_cancelled:
            raise NotAllowedNowError(_(CALLED_OFF))
        _end(task, told.outcome, told.reason)
    elif task.is_done and told.outcome is TaskOutcome.PART and told.reason.strip() != task.outcome_reason:
        task.outcome_reason = given_reason(told.reason)
        task.save(update_fields=["outcome_reason"])
    if told.taken_min is None or told.taken_min == task.taken_min:
        return
    if not task.has_ended:
        raise ValidationError({"taken_h": ValidationError(_(NOT_ENDED), params={"task": task.title})})
    task.taken_min = told.taken_min
    task.clean_fields(exclude=("visit", "surface"))
    task.save(update_fields=["taken_min"])


def _end(task: VisitTask, outcome: TaskOutcome, reason: str) -> None:
    """A task ends as not done with why; one that has its record may have been done in part only.

    One whose record was set aside can be told as not done after all.
    """
    if outcome in (TaskOutcome.DONE, TaskOutcome.PART) and not task.is_done:
        raise ValidationError({"outcome": ValidationError(_(WANTS_RECORD), params={"task": task.title})})
    if outcome is TaskOutcome.NOT_DONE and task.has_ended and not task.is_disproved:
        recorded = _("{task} has its record. Set the record aside where it is wrong.")
        raise ValidationError({"outcome": recorded.format(task=task.title)})
    if outcome is TaskOutcome.DONE:
        end_task(task=task, outcome=outcome)
    else:
        end_task(task=task, outcome=outcome, reason=given_reason(reason))


@transaction.atomic
def plan_left(
    *, task: VisitTask, by: User, visit_on: date, crew: Crew, device_id: UUID | None = None
) -> Visit:
    """Put what is left of a task on the crew's visit of a day. A repeat with one device id gives the first visit."""
    task = _locked(task)
    if sent := _sent_before(task, device_id):
        return sent
    _refuse_nothing_left(task)
    return _follow(task, visit_for(by, visit_on, crew, task.surface.organisation), task.action, device_id)


@transaction.atomic
def plan_test_after(
    *, task: VisitTask, by: User, visit_on: date, crew: Crew, device_id: UUID | None = None
) -> Visit:
    """Put the test that shows what a task's cleaning gave on the crew's visit of a day, once."""
    task = _locked(task)
    if sent := _sent_before(task, device_id):
        return sent
    if task.cleaning is None or not task.cleaning.is_active:
        raise NotAllowedNowError(_(NO_CLEANING) % {"task": task.title})
    if task.followed_by.tests_after().exists():
        raise AlreadyDoneError(_(TEST_PLANNED))
    return _follow(task, visit_for(by, visit_on, crew, task.surface.organisation), Action.TEST, device_id)


def _locked(task: VisitTask) -> VisitTask:
    rows = VisitTask.objects.select_for_update(of=("self",)).select_related("surface__site__organisation")
    return rows.get(pk=task.pk)


def _sent_before(task: VisitTask, device_id: UUID | None) -> Visit | None:
    first = task.followed_by.filter(device_id=device_id).first() if device_id else None
    return first.visit if first else None


def _follow(task: VisitTask, visit: Visit, action: str, device_id: UUID | None) -> Visit:
    is_test_after = action == Action.TEST and task.cleaning is not None
    add_task(
        visit=visit,
        surface=task.surface,
        action=action,
        method="" if action == Action.TEST else task.method,
        follows=task,
        moment=Moment.AFTER if is_test_after else "",
        device_id=device_id,
    )
    return visit


@transaction.atomic
def give_up_left(*, task: VisitTask, reason: str) -> VisitTask:
    """Say that what is left of a task is not needed any more, and why."""
    reason = given_reason(reason)
    task = VisitTask.objects.select_for_update(of=("self",)).get(pk=task.pk)
    _refuse_nothing_left(task)
    task.outcome, task.outcome_reason = TaskOutcome.GIVEN_UP, f"{task.outcome_reason}; {reason}"
    task.save(update_fields=["outcome", "outcome_reason"])
    return task


def _refuse_nothing_left(task: VisitTask) -> None:
    if not VisitTask.objects.left_over().filter(pk=task.pk).exists():
        raise NotAllowedNowError(_(NOTHING_LEFT) % {"task": task.title})
