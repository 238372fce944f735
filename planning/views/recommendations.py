"""What people decide about advice."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show, save_with_reason
from maintenance.models import Recommendation
from maintenance.presentation.worked import worked_price
from maintenance.selectors.care import terms_of_method
from maintenance.services import recommendations
from planning.forms.visits import PlanForm
from planning.models import VisitTask
from planning.presentation.approvals import Approval, approval_of
from planning.selectors.quotes import answers_to
from planning.services import visits
from qa.selectors.days import firm_today


@login_required
@require_safe
def recommendation_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(Recommendation, request.user, Role.VIEWER, pk=pk)
    tasks = VisitTask.objects.for_user(request.user).filter(recommendation=row).select_related("visit__crew")
    shown = row.releases.select_related("released_by", "ended_by", "surface__site")
    context = {"recommendation": row, "surface": row.surface, "tasks": tasks, "releases": shown}
    terms = terms_of_method(row.surface.organisation, row.method)
    worked = worked_price(row, terms, request.current.units)
    more = {"approval": _approval(row), "worked": worked}
    return render(request, "planning/recommendation_detail.html", {**context, **more})


def _approval(row: Recommendation) -> Approval:
    firm = row.surface.organisation
    today = firm_today(firm)
    return approval_of(row, answers_to([row.pk], today).get(row.pk), firm.approval_above, today)


@login_required
@require_http_methods(["GET", "POST"])
def recommendation_plan(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(Recommendation, request.user, Role.COORDINATOR, pk=pk)
    form = PlanForm(request.POST or None, recommendation=row)
    return save_or_show(
        request,
        form,
        lambda: visits.plan(recommendation=row, by=request.user, **form.cleaned_data),
        "planning/recommendation_plan.html",
        lambda: {"approval": _approval(row)},
        recommendation=row,
        surface=row.surface,
    )


@login_required
@require_http_methods(["GET", "POST"])
def recommendation_decline(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(Recommendation, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: recommendations.decline(recommendation=row, by=request.user, reason=reason).surface,
        "planning/recommendation_decline.html",
        recommendation=row,
        surface=row.surface,
    )
