"""Registering sites and surfaces."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.units import UnitSystem
from core.views.form_views import save_or_show
from qa.calc.checks import BOUND_BEDS
from qa.forms.buildups import layer_formset, location_formset
from qa.forms.rowsets import add_refusal_to_rows, kept_forms, removed_rows
from qa.forms.sites import SiteForm
from qa.forms.surfaces import SurfaceForm
from qa.models import Site, Surface
from qa.selectors.rounds import needed_locations
from qa.services import register


@login_required
@require_http_methods(["GET", "POST"])
def site_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    site = Site(organisation=organisation)
    form = SiteForm(request.POST or None, instance=site, initial={"owner": request.GET.get("owner")})
    return _site_form(request, site, form)


@login_required
@require_http_methods(["GET", "POST"])
def site_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.COORDINATOR, pk=pk)
    form = SiteForm(request.POST or None, instance=site)
    return _site_form(request, site, form)


def _site_form(request: PersonRequest, site: Site, form: SiteForm) -> HttpResponse:
    return save_or_show(
        request,
        form,
        lambda: register.save_site(site=site),
        "qa/site_form.html",
        site=site,
        stored=site.created_at is not None,
    )


@login_required
@require_http_methods(["GET", "POST"])
def surface_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.COORDINATOR, pk=pk)
    return _surface_form(request, Surface(site=site))


@login_required
@require_http_methods(["GET", "POST"])
def surface_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _surface_form(request, get_for_user(Surface, request.user, Role.COORDINATOR, pk=pk))


def _surface_form(request: PersonRequest, surface: Surface) -> HttpResponse:
    form = SurfaceForm(request.POST or None, instance=surface, units=request.current.units)
    stored = surface.created_at is not None
    return save_or_show(
        request,
        form,
        lambda: register.save_surface(surface=surface),
        "qa/surface_form.html",
        surface=surface,
        stored=stored,
        back=surface if stored else surface.site,
    )


@login_required
@require_http_methods(["GET", "POST"])
def build_up_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.COORDINATOR, pk=pk)
    bound = request.GET.get("bed") == "bound"
    formset = layer_formset(surface, request.current.units, request.POST or None, bound_bed=bound)
    if formset.is_valid():
        layers = [form.save(commit=False) for form in formset.from_the_top()]
        try:
            register.save_build_up(surface=surface, layers=layers, removed=removed_rows(formset))
            return redirect(surface)
        except ValidationError as error:
            add_refusal_to_rows(formset, error)
    may_be_bound = surface.surface_type in BOUND_BEDS and not surface.layers.exists()
    context = {"surface": surface, "formset": formset, "may_be_bound": may_be_bound, "bound": bound}
    return render(request, "qa/build_up_form.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def locations_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.COORDINATOR, pk=pk)
    units = request.current.units
    formset = location_formset(surface, units, request.POST or None)
    if formset.is_valid():
        locations = [f.save(commit=False) for f in kept_forms(formset)]
        try:
            register.save_locations(
                surface=surface,
                locations=locations,
                removed=removed_rows(formset),
                system=UnitSystem(units),
            )
            return redirect(surface)
        except ValidationError as error:
            add_refusal_to_rows(formset, error)
    context = {
        "surface": surface,
        "formset": formset,
        "needed": needed_locations(surface, units),
    }
    return render(request, "qa/locations_form.html", context)
