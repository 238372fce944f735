"""The tasks of a visit, each with the page where it is got done."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from core.calc.paving import CleaningMethod
from maintenance.calc.vocabulary import Action
from planning.models import QuoteVersion, VisitTask
from planning.presentation.approvals import Approval, approval_of
from planning.presentation.day_end import hours_words


@dataclass(frozen=True, slots=True)
class TaskLine:
    """A task of a visit.

    is_pending: whether it may still be done. step, url: what gets it done, and where. drop_url: where to say that it
    is not needed; empty where `url` is that place already. hours: of work, as told, in words. is_left_over:
    something is left of it that nobody planned again. wants_test: it cleaned, and no test after it is planned or
    recorded.
    """

    task: VisitTask
    is_pending: bool
    step: str
    url: str
    drop_url: str
    approval: Approval
    hours: str = ""
    is_left_over: bool = False
    wants_test: bool = False


def task_line(
    task: VisitTask,
    *,
    wants_test: bool = False,
    is_left_over: bool = False,
    answer: QuoteVersion | None = None,
    above: Decimal | None = None,
    today: date | None = None,
    back: str = "",
) -> TaskLine:
    """The task with what there is to do about it.

    answer: what its owner said to a quote; above: from which price one is needed; today: at the firm, None where
    approvals are not told; back: the address to come back to, the visit's where it is empty.
    """
    finish = reverse("planning:task-finish", args=[task.pk])
    step, url = _step(task, finish, back)
    return TaskLine(
        task=task,
        is_pending=task.visit.is_scheduled and not task.has_ended,
        step=step,
        url=url,
        drop_url="" if url.partition("?")[0] == finish or task.inspection_finding_id else finish,
        approval=approval_of(task.recommendation, answer, above, today),
        hours=hours_words(task.taken_min),
        is_left_over=is_left_over,
        wants_test=wants_test,
    )


def _step(task: VisitTask, finish: str, back: str) -> tuple[str, str]:
    if task.action == Action.TEST:  # to the round first, where its tests are recorded
        return _("Record the test"), reverse("qa:round-create", args=[task.surface_id])
    asked = f"?{urlencode({'next': back})}" if back else ""
    if task.action == Action.INSPECT:
        return _("Record the inspection"), reverse("qa:inspection-create", args=[task.surface_id]) + asked
    if task.action == Action.SOURCE:
        return _("Record what was stopped"), reverse(
            "qa:source-change-create", args=[task.surface_id]
        ) + asked
    here = back or task.visit.get_absolute_url()
    if task.inspection_finding_id:
        remedy = reverse("qa:remedy-create", args=[task.inspection_finding_id])
        return _("Say what was done"), f"{remedy}?{urlencode({'next': here})}"
    if task.action == Action.LOOK:
        return _("Say what was found"), finish + asked
    record = reverse("maintenance:cleaning-create", args=[task.surface_id])
    fills = task.action == Action.TOP_UP
    method = CleaningMethod.JOINT_REFILL.value if fills else task.method
    query = urlencode({"method": method, "next": here})
    return _("Record the filling") if fills else _("Record the cleaning"), f"{record}?{query}"
