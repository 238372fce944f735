"""How the day of a visit went, and what follows from it."""

from collections.abc import Callable
from datetime import timedelta
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show, save_with_reason
from planning.forms.day_end import DayToldForm
from planning.forms.visits import OnVisitForm
from planning.models import Visit, VisitTask
from planning.models.visits import PROOFS
from planning.presentation.day_end import told_rows
from planning.services import day_end
from planning.services.crews import outputs_now

SOON_AFTER = timedelta(
    days=7
)  # what a cleaning gave shows best before new fines come; common practice, no source


@login_required
@require_http_methods(["GET", "POST"])
def visit_tell(request: PersonRequest, pk: UUID) -> HttpResponse:
    """What was not done and why, and the hours that work took."""
    visit = get_for_user(Visit, request.user, Role.TECHNICIAN, pk=pk)
    tasks = visit.tasks.select_related("visit", "surface__site", "inspection_finding", *PROOFS)
    form = DayToldForm(request.POST or None, tasks=list(tasks))
    return save_or_show(
        request,
        form,
        lambda: day_end.tell_day(visit=visit, told=form.told()),
        "planning/visit_tell.html",
        lambda: {"rows": told_rows(form.parts, outputs_now(visit.organisation))},
        visit=visit,
    )


@login_required
@require_http_methods(["GET", "POST"])
def task_rest_plan(request: PersonRequest, pk: UUID) -> HttpResponse:
    """What is left of a task."""
    return _follow(request, pk, day_end.plan_left, "planning/task_rest_plan.html")


@login_required
@require_http_methods(["GET", "POST"])
def task_test_plan(request: PersonRequest, pk: UUID) -> HttpResponse:
    """The test that shows what a cleaning gave."""
    return _follow(request, pk, day_end.plan_test_after, "planning/task_test_plan.html")


def _follow(request: PersonRequest, pk: UUID, save: Callable[..., Visit], template: str) -> HttpResponse:
    task = get_for_user(VisitTask, request.user, Role.COORDINATOR, pk=pk)
    soon = task.visit.visit_on + SOON_AFTER
    form = OnVisitForm(
        request.POST or None, site=task.surface.site, first_on=soon, initial={"crew": task.visit.crew_id}
    )
    return save_or_show(
        request,
        form,
        lambda: save(task=task, by=request.user, **form.cleaned_data),
        template,
        task=task,
    )


@login_required
@require_http_methods(["GET", "POST"])
def task_rest_give_up(request: PersonRequest, pk: UUID) -> HttpResponse:
    """What is left of a task is not needed any more."""
    task = get_for_user(VisitTask, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: day_end.give_up_left(task=task, reason=reason).visit,
        "planning/task_rest_give_up.html",
        task=task,
    )
