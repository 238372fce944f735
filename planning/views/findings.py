"""Putting what an inspection found on a visit."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show
from planning.forms.visits import OnVisitForm
from planning.services import visits
from qa.models import InspectionFinding


@login_required
@require_http_methods(["GET", "POST"])
def finding_plan(request: PersonRequest, pk: UUID) -> HttpResponse:
    finding = get_for_user(InspectionFinding, request.user, Role.COORDINATOR, pk=pk)
    form = OnVisitForm(request.POST or None, site=finding.surface.site, first_on=finding.due_on)
    return save_or_show(
        request,
        form,
        lambda: visits.plan_finding(finding=finding, by=request.user, **form.cleaned_data),
        "planning/finding_plan.html",
        finding=finding,
    )
