"""Crews, visits, tasks, agreements, and what people decide about advice."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.acting import PersonRequest
from accounts.roles import Role
from accounts.tenancy import acting_or_deny, get_or_deny
from accounts.webforms import save_or_show, save_with_reason
from maintenance.forms.visits import AgreementForm, CrewForm, FindingForm, PlanForm, TaskForm, VisitForm
from maintenance.models import Agreement, Crew, Recommendation, Visit, VisitTask
from maintenance.services import visits
from maintenance.tables import VisitTable, ordered_and_paged
from qa.models import Site


@login_required
@require_GET
def visit_list(request: PersonRequest) -> HttpResponse:
    organisation = acting_or_deny(request.acting, Role.VIEWER)
    rows = Visit.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    table = VisitTable(rows.select_related("crew").prefetch_related("tasks__surface__site"))
    ordered_and_paged(table, request)
    crews = Crew.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    return render(request, "maintenance/visit_list.html", {"table": table, "crews": crews})


@login_required
@require_http_methods(["GET", "POST"])
def visit_create(request: PersonRequest) -> HttpResponse:
    organisation = acting_or_deny(request.acting, Role.COORDINATOR)
    visit = Visit(organisation=organisation, planned_by=request.user)
    form = VisitForm(request.POST or None, instance=visit)
    return save_or_show(
        request, form, lambda: visits.save_visit(visit=visit), "maintenance/visit_form.html", visit=visit
    )


@login_required
@require_http_methods(["GET", "POST"])
def visit_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_or_deny(Visit, request.user, Role.COORDINATOR, pk=pk)
    form = VisitForm(request.POST or None, instance=visit)
    return save_or_show(
        request, form, lambda: visits.save_visit(visit=visit), "maintenance/visit_form.html", visit=visit
    )


@login_required
@require_GET
def visit_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_or_deny(Visit, request.user, Role.VIEWER, pk=pk)
    tasks = visit.tasks.select_related("surface__site", "round", "cleaning", "recommendation")
    return render(request, "maintenance/visit_detail.html", {"visit": visit, "tasks": tasks})


@login_required
@require_http_methods(["GET", "POST"])
def visit_cancel(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_or_deny(Visit, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: visits.cancel_visit(visit=visit, reason=reason),
        "maintenance/visit_cancel.html",
        visit=visit,
    )


@login_required
@require_http_methods(["GET", "POST"])
def task_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    visit = get_or_deny(Visit, request.user, Role.COORDINATOR, pk=pk)
    form = TaskForm(request.POST or None, organisation=visit.organisation)
    return save_or_show(
        request,
        form,
        lambda: visits.add_task(visit=visit, **form.cleaned_data).visit,
        "maintenance/task_form.html",
        visit=visit,
    )


@login_required
@require_POST
def task_remove(request: PersonRequest, pk: UUID) -> HttpResponse:
    task = get_or_deny(VisitTask, request.user, Role.COORDINATOR, pk=pk)
    visit = task.visit
    try:
        visits.remove_task(task=task)
        messages.success(request, f"{task.title} at {task.surface} is off the visit.")
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect(visit)


@login_required
@require_http_methods(["GET", "POST"])
def task_finish(request: PersonRequest, pk: UUID) -> HttpResponse:
    """For tasks whose outcome is words: having a surface looked at, or work found needless."""
    task = get_or_deny(VisitTask, request.user, Role.TECHNICIAN, pk=pk)
    form = FindingForm(request.POST or None)
    return save_or_show(
        request,
        form,
        lambda: visits.finish_task(task=task, **form.cleaned_data).visit,
        "maintenance/task_finish.html",
        task=task,
    )


@login_required
@require_http_methods(["GET", "POST"])
def crew_create(request: PersonRequest) -> HttpResponse:
    return _crew_form(request, Crew(organisation=acting_or_deny(request.acting, Role.COORDINATOR)))


@login_required
@require_http_methods(["GET", "POST"])
def crew_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _crew_form(request, get_or_deny(Crew, request.user, Role.COORDINATOR, pk=pk))


def _crew_form(request: PersonRequest, crew: Crew) -> HttpResponse:
    form = CrewForm(request.POST or None, instance=crew)

    def save() -> str:
        visits.save_crew(crew=crew, people=list(form.cleaned_data["people"]))
        return "maintenance:visit-list"

    return save_or_show(request, form, save, "maintenance/crew_form.html", crew=crew)


@login_required
@require_http_methods(["GET", "POST"])
def agreement_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_or_deny(Site, request.user, Role.COORDINATOR, pk=pk)
    agreement = Agreement.objects.for_user(request.user).filter(site=site).first() or Agreement(site=site)
    start = {"since": site.today()} if agreement._state.adding else {}
    form = AgreementForm(request.POST or None, instance=agreement, initial=start)
    return save_or_show(
        request,
        form,
        lambda: visits.save_agreement(agreement=agreement).site,
        "maintenance/agreement_form.html",
        site=site,
    )


@login_required
@require_GET
def recommendation_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_or_deny(Recommendation, request.user, Role.OWNER, pk=pk)
    tasks = VisitTask.objects.for_user(request.user).filter(recommendation=row).select_related("visit__crew")
    context = {"recommendation": row, "surface": row.surface, "tasks": tasks}
    return render(request, "maintenance/recommendation_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def recommendation_plan(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_or_deny(Recommendation, request.user, Role.COORDINATOR, pk=pk)
    form = PlanForm(request.POST or None, recommendation=row)
    return save_or_show(
        request,
        form,
        lambda: visits.plan(recommendation=row, by=request.user, **form.cleaned_data),
        "maintenance/recommendation_plan.html",
        recommendation=row,
        surface=row.surface,
    )


@login_required
@require_http_methods(["GET", "POST"])
def recommendation_decline(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_or_deny(Recommendation, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: visits.decline(recommendation=row, by=request.user, reason=reason).surface,
        "maintenance/recommendation_decline.html",
        recommendation=row,
        surface=row.surface,
    )
