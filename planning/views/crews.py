"""Crews."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show
from planning.forms.crews import CrewForm
from planning.models import Crew
from planning.services import crews


@login_required
@require_http_methods(["GET", "POST"])
def crew_create(request: PersonRequest) -> HttpResponse:
    return _crew_form(request, Crew(organisation=require_role(request.current, Role.COORDINATOR)))


@login_required
@require_http_methods(["GET", "POST"])
def crew_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _crew_form(request, get_for_user(Crew, request.user, Role.COORDINATOR, pk=pk))


def _crew_form(request: PersonRequest, crew: Crew) -> HttpResponse:
    form = CrewForm(request.POST or None, instance=crew)

    def save() -> str:
        crews.save_crew(crew=crew, people=list(form.cleaned_data["people"]))
        return "planning:visit-list"

    return save_or_show(request, form, save, "planning/crew_form.html", crew=crew)
