"""The plan of a surface: its outline, and test locations proposed on it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.calc.format import counted
from core.calc.units import Quantity, unit_of
from core.views.form_views import REFUSALS, add_refusal
from qa.forms.plans import PlanForm, plan_start
from qa.models import Surface
from qa.presentation.drawing.plan import Mark
from qa.presentation.plan import area_note, marks_of, picture_of, plan_picture, spot_rows
from qa.selectors.rounds import needed_locations
from qa.services import plans


@login_required
@require_http_methods(["GET", "POST"])
def plan_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.COORDINATOR, pk=pk)
    units = request.current.units
    needed = needed_locations(surface, units)
    start = {} if request.POST else plan_start(surface, needed, units)
    form = PlanForm(request.POST or None, surface=surface, units=units, initial=start)
    status = 200
    if form.is_valid() and request.POST.get("do") == "save":
        try:
            added = plans.save_plan(
                surface=surface,
                plan=form.cleaned_data["plan"],
                spots=form.cleaned_data["spots"],
                keep_locations=form.keeps,
                system=form.system,
            )
        except REFUSALS as error:
            status = add_refusal(form, error)
        else:
            _say_stored(request, surface, form, len(added))
            return redirect(surface)
    context = {"surface": surface, "form": form, "needed": needed, **_preview(surface, form, units)}
    return render(request, "qa/plan_form.html", context, status=status)


def _say_stored(request: PersonRequest, surface: Surface, form: PlanForm, added: int) -> None:
    messages.success(
        request, _("Outline stored with {locations}.").format(locations=counted(added, "new location"))
    )
    note = area_note(surface.area_m2, form.cleaned_data["plan"], request.current.units)
    if note:
        messages.warning(request, note)


def _preview(surface: Surface, form: PlanForm, units: str) -> dict[str, Any]:
    """What was asked for as a drawing; before anything was sent, what is stored."""
    if not form.is_bound:
        return {"picture": plan_picture(surface, units)}
    if not form.is_valid():
        return {}
    plan, spots = form.cleaned_data["plan"], form.cleaned_data["spots"]
    marks = marks_of(form.current, units) if form.keeps else []
    marks += [
        Mark(_("new {number}").format(number=n), spot.zone, spot.x_m, spot.y_m)
        for n, spot in enumerate(spots, start=1)
    ]
    return {
        "picture": picture_of(surface, plan, marks, units),
        "spots": spot_rows(spots, units),
        "length_unit": unit_of(Quantity.LENGTH, form.system),
        "proposed": True,
    }
