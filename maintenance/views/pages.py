"""What needs doing, surfaces, sites, and the state of the fleet's fit."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import localdate
from django.views.decorators.http import require_GET, require_POST

from accounts.acting import PersonRequest
from accounts.roles import Role
from accounts.tenancy import get_or_deny
from maintenance.charts import decline_figure
from maintenance.exports import export_response
from maintenance.filters import SurfaceFilter
from maintenance.models import Recommendation
from maintenance.selectors import chart_record, odd_things, record_of, state_counts, to_do
from maintenance.services import forecasts
from maintenance.tables import SurfaceTable, ordered_and_paged
from maintenance.wording import chart_title, forecast_sentence, kind_sentence
from qa.models import Site, Surface
from qa.plan_drawing import plan_picture
from qa.section_drawing import section_picture
from qa.selectors import acceptance_standing
from qa.surface_limits import limit_known

EXPORTS = ("csv", "xlsx")


@login_required
@require_GET
def todo(request: PersonRequest) -> HttpResponse:
    if request.acting.organisation is None:
        return _owner_start(request)
    context = {"todo": to_do(request.user, request.acting.organisation, localdate())}
    return render(request, "maintenance/todo.html", context)


def _owner_start(request: PersonRequest) -> HttpResponse:
    surfaces = Surface.objects.for_user(request.user).in_service().select_related("site", "forecast")
    advice = Recommendation.objects.for_user(request.user).ahead()
    context = {
        "surfaces": surfaces,
        "states": state_counts(
            getattr(getattr(s, "forecast", None), "surface_state", None) for s in surfaces
        ),
        "advice": advice.select_related("surface__site", "surface__forecast"),
        "today": localdate(),
    }
    return render(request, "maintenance/owner_start.html", context)


@login_required
@require_GET
def surface_list(request: PersonRequest) -> HttpResponse:
    rows = Surface.objects.for_user(request.user).in_service().select_related("site__owner", "forecast")
    sites = Site.objects.for_user(request.user)
    if request.acting.organisation:
        rows = rows.of_organisation(request.acting.organisation)
        sites = sites.of_organisation(request.acting.organisation)
    narrowed = SurfaceFilter(request.GET, queryset=rows, sites=sites)
    table = SurfaceTable(narrowed.qs, units=request.acting.units)
    ordered_and_paged(table, request)
    export = request.GET.get("export")
    if export in EXPORTS:
        return export_response(table.with_units_in_headers(), export, "surfaces")
    context = {"table": table, "filter": narrowed, "sites": sites}
    return render(request, "maintenance/surface_list.html", context)


@login_required
@require_GET
def surface_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_or_deny(Surface, request.user, Role.OWNER, pk=pk)
    return render(request, "maintenance/surface_detail.html", surface_context(surface, request.acting.units))


def surface_context(surface: Surface, units: str) -> dict[str, Any]:
    """What the surface's page shows."""
    forecast = getattr(surface, "forecast", None)
    items = record_of(surface, forecast)
    context = {
        "surface": surface,
        "site": surface.site,
        "today": surface.site.today(),
        "forecast": forecast,
        "items": items,
        "odd": odd_things(forecast, items),
        "advice": surface.recommendations.ahead(),
        "picture": section_picture(surface, units),
        "plan": plan_picture(surface, units),
        "layers": surface.layers.all(),
        "locations": surface.locations.filter(retired=False),
        "limit": limit_known(surface, units),
        "acceptance": acceptance_standing(surface, units),
    }
    if forecast and forecast.detail:
        context |= {
            "figure": decline_figure(chart_record(surface, forecast, items), units),
            "sentence": forecast_sentence(surface, forecast, units),
            "kind": kind_sentence(forecast),
            "chart_title": chart_title(surface),
        }
    return context


@login_required
@require_POST
def surface_refresh(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_or_deny(Surface, request.user, Role.TECHNICIAN, pk=pk)
    forecasts.force_refresh(surface=surface)
    messages.success(request, "The forecast is being made anew.")
    return redirect(surface)


@login_required
@require_GET
def site_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_or_deny(Site, request.user, Role.OWNER, pk=pk)
    context = {
        "site": site,
        "surfaces": site.surfaces.select_related("forecast"),
        "agreement": getattr(site, "agreement", None),
    }
    return render(request, "maintenance/site_detail.html", context)
