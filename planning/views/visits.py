"""Visits and their tasks."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from accounts.views.opened import note_opened
from core.presentation.tables import ordered_and_paged, table_as_file
from core.services import mail
from core.views.form_views import Onward, do_or_say, save_or_show, save_with_reason
from planning.forms.visit_filter import VisitFilter
from planning.forms.visits import FindingForm, TaskForm, VisitForm
from planning.models import Crew, Visit, VisitTask
from planning.presentation.owner_mail import told_lines
from planning.presentation.tables import VisitTable
from planning.presentation.tasks import task_line
from planning.selectors.crew_days import may_have_paper
from planning.selectors.owner_notices import told_of
from planning.selectors.quotes import answers_to
from planning.selectors.visits import tasks_of, today_first
from planning.services import visits
from qa.selectors.days import firm_today


@login_required
@require_safe
def visit_list(request: PersonRequest) -> HttpResponseBase:
    organisation = require_role(request.current, Role.VIEWER)
    rows = Visit.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    crews = Crew.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    narrowed = VisitFilter(request.GET, queryset=rows, crews=crews)
    listed = today_first(narrowed.qs, firm_today(organisation))
    table = VisitTable(listed.select_related("crew").prefetch_related("tasks__surface__site"))
    ordered_and_paged(table, request)
    if sent := table_as_file(table, request, "visits"):
        return sent
    context = {"table": table, "crews": crews, "filter": narrowed}
    return render(request, "planning/visit_list.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def visit_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    visit = Visit(organisation=organisation, planned_by=request.user)
    form = VisitForm(request.POST or None, instance=visit)
    return save_or_show(
        request, form, lambda: visits.save_visit(visit=visit), "planning/visit_form.html", visit=visit
    )


@login_required
@require_http_methods(["GET", "POST"])
def visit_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_for_user(Visit, request.user, Role.COORDINATOR, pk=pk)
    form = VisitForm(request.POST or None, instance=visit)
    return save_or_show(
        request, form, lambda: visits.save_visit(visit=visit), "planning/visit_form.html", visit=visit
    )


@login_required
@require_safe
def visit_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_for_user(Visit, request.user, Role.VIEWER, pk=pk)
    note_opened(request, visit)
    rows, above = list(tasks_of(visit)), visit.organisation.approval_above
    today = firm_today(visit.organisation)
    answers = answers_to((row.task.recommendation_id for row in rows), today)
    lines = [
        task_line(
            row.task,
            wants_test=row.wants_test,
            is_left_over=row.is_left_over,
            answer=answers.get(row.task.recommendation_id),
            above=above,
            today=today,
        )
        for row in rows
    ]
    context = {
        "visit": visit,
        "tasks": lines,
        "told": told_lines(visit, told_of(visit), mail.is_set_up()),
        "may_print": not visit.is_cancelled and may_have_paper(request.user, visit.crew),
    }
    return render(request, "planning/visit_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def visit_cancel(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_for_user(Visit, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: visits.cancel_visit(visit=visit, reason=reason),
        "planning/visit_cancel.html",
        visit=visit,
    )


@login_required
@require_http_methods(["GET", "POST"])
def task_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_for_user(Visit, request.user, Role.COORDINATOR, pk=pk)
    form = TaskForm(request.POST or None, organisation=visit.organisation)
    return save_or_show(
        request,
        form,
        lambda: visits.add_task(visit=visit, **form.cleaned_data).visit,
        "planning/task_form.html",
        visit=visit,
    )


@login_required
@require_POST
def task_remove(request: PersonRequest, pk: UUID) -> HttpResponse:
    task = get_for_user(VisitTask, request.user, Role.COORDINATOR, pk=pk)
    return do_or_say(request, lambda: _removed(task), task.visit)


def _removed(task: VisitTask) -> str:
    visits.remove_task(task=task)
    return _("{task} at {surface} is off the visit.").format(task=task.title, surface=task.surface)


@login_required
@require_http_methods(["GET", "POST"])
def task_finish(request: PersonRequest, pk: UUID) -> HttpResponse:
    """For tasks whose outcome is words: having a surface looked at, or work found needless."""
    task = get_for_user(VisitTask, request.user, Role.TECHNICIAN, pk=pk)
    form = FindingForm(request.POST or None)
    return save_or_show(
        request,
        form,
        lambda: Onward(task, visits.finish_task(task=task, **form.cleaned_data).visit),
        "planning/task_finish.html",
        task=task,
    )
