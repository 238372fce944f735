"""Sieve results of a surface's stone, and the firm's own bands."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import REFUSALS, add_refusal, correct_or_show, save_or_show, save_with_reason
from qa.calc.band_starts import STARTS
from qa.forms.sievings import BandChoiceForm, OwnBandForm, SievingForm, band_rows, likely_band, stone_layers
from qa.models import OwnBand, Sieving, Surface
from qa.presentation.charts import gradation_chart
from qa.presentation.worked_ground import worked_filters
from qa.selectors.gradation import grading_of, surface_gradation
from qa.services import sievings


@login_required
@require_safe
def gradation_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    found = surface_gradation(surface)
    context = {"surface": surface, "gradation": found, "checked": worked_filters(found.neighbours)}
    return render(request, "qa/gradation_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def sieving_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    choice = BandChoiceForm(
        request.GET if "band" in request.GET else None, surface=surface, units=request.current.units
    )
    if not choice.is_valid():
        return _ask_band(request, surface, choice)
    sieving = Sieving(surface=surface, layer=choice.cleaned_data["layer"])
    sieving.take_band(choice.chosen)
    form = SievingForm(request.POST or None, instance=sieving, initial={"sampled_on": surface.site.today()})
    return save_or_show(
        request,
        form,
        lambda: sievings.record_sieving(sieving=sieving, by=request.user),
        "qa/sieving_form.html",
        surface=surface,
        sieving=sieving,
    )


def _ask_band(request: PersonRequest, surface: Surface, choice: BandChoiceForm) -> HttpResponse:
    """The first step; a layer named by the link brings the size its material names."""
    layer = next((row for row in stone_layers(surface) if str(row.pk) == request.GET.get("layer")), None)
    if not choice.is_bound:
        choice.initial = {"layer": layer, "band": likely_band(layer)}
    return render(request, "qa/sieving_band.html", {"surface": surface, "form": choice})


@login_required
@require_safe
def sieving_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    sieving = get_for_user(Sieving, request.user, Role.OWNER, pk=pk)
    grading = grading_of(sieving)
    context = {
        "sieving": sieving,
        "grading": grading,
        "chart": gradation_chart(grading),
    }
    return render(request, "qa/sieving_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def sieving_correct(request: PersonRequest, pk: UUID) -> HttpResponse:
    old = get_for_user(Sieving, request.user, Role.TECHNICIAN, pk=pk)
    kept = ("surface", "layer", "designation", "own_band", "readings")
    new = Sieving(**{name: getattr(old, name) for name in kept})
    initial = {name: getattr(old, name) for name in SievingForm.Meta.fields}
    form = SievingForm(request.POST or None, instance=new, initial=initial)
    return correct_or_show(
        request,
        form,
        lambda reason: sievings.correct_sieving(old=old, new=new, by=request.user, reason=reason),
        "qa/sieving_correct.html",
        old=old,
    )


@login_required
@require_http_methods(["GET", "POST"])
def sieving_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    sieving = get_for_user(Sieving, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: sievings.void_sieving(sieving=sieving, by=request.user, reason=reason),
        "void_page.html",
        record=sieving,
    )


@login_required
@require_http_methods(["GET", "POST"])
def own_band_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    return _own_band_form(request, OwnBand(organisation=organisation))


@login_required
@require_http_methods(["GET", "POST"])
def own_band_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _own_band_form(request, get_for_user(OwnBand, request.user, Role.COORDINATOR, pk=pk))


def _own_band_form(request: PersonRequest, band: OwnBand) -> HttpResponse:
    start = STARTS.get(request.GET.get("start", "")) if band._state.adding else None
    form = OwnBandForm(
        request.POST or None, instance=band, initial={"source": start.source} if start else None
    )
    rows = band_rows(band, request.POST or None, start)
    status = 200
    # Both are asked, so that the faults of both are shown at once.
    if all([form.is_valid(), rows.is_valid()]):
        try:
            return redirect(sievings.save_own_band(band=band, limits=rows.limits))
        except REFUSALS as error:
            status = add_refusal(form, error)
    context = {"form": form, "formset": rows, "band": band, "starts": STARTS, "start": start}
    return render(request, "qa/own_band_form.html", context, status=status)


@login_required
@require_POST
def own_band_retire(request: PersonRequest, pk: UUID) -> HttpResponse:
    band = get_for_user(OwnBand, request.user, Role.COORDINATOR, pk=pk)
    sievings.retire_own_band(band=band, retired="again" not in request.POST)
    said = (
        _("{rule} is no longer offered; samples checked against it keep it.")
        if band.retired
        else _("{rule} is offered again.")
    )
    messages.success(request, said.format(rule=band))
    return redirect("qa:rule-list")
