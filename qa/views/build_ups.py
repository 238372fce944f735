"""Entering a build-up, and what the firm keeps to start others from."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from qa.calc.buildups import TypicalLayer
from qa.calc.checks import BOUND_BEDS
from qa.calc.kept_layers import as_typical
from qa.forms.buildups import KeepAsForm, layer_formset
from qa.forms.rowsets import add_refusal_to_rows, removed_rows
from qa.models import KeptBuildUp, Surface
from qa.presentation.section import Picture, section_picture
from qa.selectors.build_ups import kept_build_ups, layers_to_start_with
from qa.services import build_ups


@dataclass(frozen=True, slots=True)
class _Drawn:
    """What a surface would be built like, to be drawn. Water below the overflow is worked out once it is stored."""

    surface_type: str
    layers: tuple[TypicalLayer, ...]
    joint_width_mm: float | None
    overflow_invert_mm: float | None
    overflow_diameter_mm: float | None
    stored_below_mm: float | None = None
    seed: int = 1


@login_required
@require_http_methods(["GET", "POST"])
def build_up_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    """Layers from the top down. Nothing is stored where only the drawing is asked for."""
    surface = get_for_user(Surface, request.user, Role.COORDINATOR, pk=pk)
    keep = KeepAsForm(request.POST or None)
    formset = _formset(request, surface)
    if formset.is_valid() and keep.is_valid() and "show" not in request.POST:
        try:
            return _stored(request, surface, formset, keep.cleaned_data["keep_as"])
        except ValidationError as error:
            add_refusal_to_rows(formset, error)
    context = {
        "surface": surface,
        "formset": formset,
        "keep": keep,
        "drawing": _drawing(surface, formset, request),
    }
    return render(request, "qa/build_up_form.html", context | _starts(request, surface))


def _formset(request: PersonRequest, surface: Surface) -> Any:
    start = layers_to_start_with(surface, request.GET.get("kept", "")) if "kept" in request.GET else ()
    bound = request.GET.get("bed") == "bound"
    units = request.current.units
    return layer_formset(surface, units, request.POST or None, bound_bed=bound, start=start)


def _stored(request: PersonRequest, surface: Surface, formset: Any, keep_as: str) -> HttpResponse:
    layers = [form.save(commit=False) for form in formset.from_the_top()]
    row = build_ups.save_and_keep(
        surface=surface, layers=layers, removed=removed_rows(formset), keep_as=keep_as
    )
    said = (
        _(
            "The build-up of {surface} is stored: {count} layers. It is kept as {kept}. "
            "Next: <a href='{url}'>its first test</a>, if it has none."
        )
        if row
        else _(
            "The build-up of {surface} is stored: {count} layers. "
            "Next: <a href='{url}'>its first test</a>, if it has none."
        )
    )
    first = reverse("qa:round-create", args=[surface.pk])
    words = format_html(said, surface=surface.name, count=len(layers), kept=row, url=first)
    messages.success(request, words)
    return redirect(surface)


def _starts(request: PersonRequest, surface: Surface) -> dict[str, Any]:
    """What an empty build-up can start from."""
    if surface.layers.exists():
        return {}
    return {
        "may_start": True,
        "may_be_bound": surface.surface_type in BOUND_BEDS,
        "bound": request.GET.get("bed") == "bound",
        "kept": kept_build_ups(surface),
    }


def _drawing(surface: Surface, formset: Any, request: PersonRequest) -> Picture:
    """The layers as they were sent, or as they stand in the rows; none where what was sent cannot be read."""
    if formset.is_bound and not formset.is_valid():
        return Picture()
    layers = (
        as_typical(form.instance for form in formset.from_the_top())
        if formset.is_bound
        else formset.as_shown()
    )
    return section_picture(_drawn(surface, layers), request.current.units, id_prefix="section-of-form")


def drawn_as_stored(surface: Surface, units: str) -> Picture:
    """The cross-section of the layers that are stored of a surface; empty where there are none."""
    layers = as_typical(surface.layers.all())
    return (
        section_picture(_drawn(surface, layers), units, id_prefix="section-of-form") if layers else Picture()
    )


def _drawn(surface: Surface, layers: tuple[TypicalLayer, ...]) -> _Drawn:
    return _Drawn(
        surface.surface_type,
        layers,
        surface.joint_width_mm,
        surface.overflow_invert_mm,
        surface.overflow_diameter_mm,
    )


@login_required
@require_POST
def kept_build_up_drop(request: PersonRequest, pk: UUID) -> HttpResponse:
    kept = get_for_user(KeptBuildUp, request.user, Role.COORDINATOR, pk=pk)
    build_ups.drop_build_up(kept=kept)
    messages.success(
        request,
        _("{kept} is no longer kept. Surfaces that began with it stay as they are.").format(kept=kept),
    )
    return redirect("qa:rule-list")
