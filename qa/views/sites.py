"""Registering sites and surfaces."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.units import UnitSystem
from core.views.form_views import save_or_show
from qa.forms.buildups import location_formset
from qa.forms.rowsets import add_refusal_to_rows, kept_forms, removed_rows
from qa.forms.sites import SiteForm
from qa.forms.surfaces import SurfaceForm
from qa.models import Site, Surface
from qa.presentation.section import Picture
from qa.selectors.build_ups import surface_to_copy
from qa.selectors.rounds import needed_locations
from qa.services import build_ups, register
from qa.views.build_ups import drawn_as_stored


@login_required
@require_http_methods(["GET", "POST"])
def site_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    site = Site(organisation=organisation)
    begins = {"owner": request.GET.get("owner")}
    form = SiteForm(request.POST or None, instance=site, initial=begins, units=request.current.units)
    return _site_form(request, site, form)


@login_required
@require_http_methods(["GET", "POST"])
def site_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.COORDINATOR, pk=pk)
    form = SiteForm(request.POST or None, instance=site, units=request.current.units)
    return _site_form(request, site, form)


def _site_form(request: PersonRequest, site: Site, form: SiteForm) -> HttpResponse:
    stored = site.created_at is not None

    def save() -> Site:
        row = register.save_site(site=site)
        add = reverse("qa:surface-create", args=[row.pk])
        said = (
            _("{name} is stored.")
            if stored
            else _("{name} is stored. Next: <a href='{url}'>its first surface</a>.")
        )
        messages.success(request, format_html(said, name=row.name, url=add))
        return row

    return save_or_show(request, form, save, "qa/site_form.html", site=site, stored=stored)


@login_required
@require_http_methods(["GET", "POST"])
def surface_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.COORDINATOR, pk=pk)
    like = surface_to_copy(request.user, site, request.GET.get("like", ""))
    surface = build_ups.start_like(source=like, site=site) if like else Surface(site=site)
    return _surface_form(request, surface, like)


@login_required
@require_http_methods(["GET", "POST"])
def surface_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _surface_form(request, get_for_user(Surface, request.user, Role.COORDINATOR, pk=pk))


def _surface_form(request: PersonRequest, surface: Surface, like: Surface | None = None) -> HttpResponse:
    form = SurfaceForm(request.POST or None, instance=surface, units=request.current.units)
    stored = surface.created_at is not None

    def save() -> Surface:
        row, layers = build_ups.save_surface_like(surface=surface, like=like)
        messages.success(request, saved_words(row, stored=stored, layers=layers))
        return row

    return save_or_show(
        request,
        form,
        save,
        "qa/surface_form.html",
        surface=surface,
        stored=stored,
        like=like,
        back=surface if stored else surface.site,
        drawing=drawn_as_stored(like or surface, request.current.units) if like or stored else Picture(),
    )


def saved_words(surface: Surface, *, stored: bool, layers: int) -> str:
    """What was saved, and what comes next."""
    if stored:
        return _("{name} is stored.").format(name=surface.name)
    build_up, first = (reverse(name, args=[surface.pk]) for name in ("qa:layer-edit", "qa:round-create"))
    said = (
        _(
            "{name} is stored with {count} layers. Next: <a href='{build_up}'>check its build-up</a>, "
            "or <a href='{test}'>its first test</a>."
        )
        if layers
        else _(
            "{name} is stored. Next: <a href='{build_up}'>its build-up</a>, or <a href='{test}'>its first test</a>."
        )
    )
    return format_html(said, name=surface.name, count=layers, build_up=build_up, test=first)


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
