"""Crews."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import do_or_say, save_or_show
from planning.forms.crews import AbsenceForm, CrewForm, CrewWorkForm
from planning.models import Crew, CrewAbsence
from planning.presentation.crews import crew_facts, output_rows
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


@login_required
@require_safe
def crew_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    crew = get_for_user(Crew, request.user, Role.VIEWER, pk=pk)
    context = {
        "crew": crew,
        "facts": crew_facts(crew, request.current.units),
        "outputs": output_rows(crew, crews.outputs_now(crew.organisation), request.current.units),
        "absences": crew.absences.order_by("-first_on"),
    }
    return render(request, "planning/crew_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def crew_work(request: PersonRequest, pk: UUID) -> HttpResponse:
    crew = get_for_user(Crew, request.user, Role.COORDINATOR, pk=pk)
    form = CrewWorkForm(request.POST or None, instance=crew, units=request.current.units)

    def save() -> str:
        crews.save_crew_work(crew=crew, methods=form.methods())
        return crew.get_absolute_url()

    return save_or_show(request, form, save, "planning/crew_work.html", crew=crew)


@login_required
@require_http_methods(["GET", "POST"])
def absence_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    crew = get_for_user(Crew, request.user, Role.COORDINATOR, pk=pk)
    absence = CrewAbsence(crew=crew)
    form = AbsenceForm(request.POST or None, instance=absence)
    return save_or_show(
        request,
        form,
        lambda: crews.save_absence(absence=absence).crew,
        "planning/absence_form.html",
        crew=crew,
    )


@login_required
@require_POST
def absence_remove(request: PersonRequest, pk: UUID) -> HttpResponse:
    absence = get_for_user(CrewAbsence, request.user, Role.COORDINATOR, pk=pk)
    return do_or_say(request, lambda: _removed(absence), absence.crew)


def _removed(absence: CrewAbsence) -> str:
    crews.remove_absence(absence=absence)
    return _("{crew} goes out on these days again.").format(crew=absence.crew)
