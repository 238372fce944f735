"""The first page, and the pages of sites and surfaces."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.timezone import now
from django.views.decorators.http import require_GET

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from maintenance.models import Forecast, Recommendation
from maintenance.presentation.charts import decline_figure
from maintenance.presentation.wording import chart_title, forecast_sentence, kind_sentence
from maintenance.selectors.records import RecordItem, data_quality_of, decline_record, record_of, state_counts
from planning.selectors.todo import to_do, usual_date
from qa.models import Site, Surface
from qa.presentation.plan import plan_picture
from qa.presentation.section import section_picture
from qa.selectors.rounds import latest_acceptance
from qa.selectors.surface_limits import limit_known


@login_required
@require_GET
def start(request: PersonRequest) -> HttpResponse:
    if request.current.organisation is None:
        return _owner_start(request)
    context = {"todo": to_do(request.user, request.current.organisation, now())}
    return render(request, "planning/todo.html", context)


def _owner_start(request: PersonRequest) -> HttpResponse:
    surfaces = list(Surface.objects.for_user(request.user).in_service().select_related("site", "forecast"))
    advice = Recommendation.objects.for_user(request.user).ahead()
    context = {
        "surfaces": surfaces,
        "states": state_counts(
            getattr(getattr(s, "forecast", None), "surface_state", None) for s in surfaces
        ),
        "advice": advice.select_related("surface__site", "surface__forecast"),
        "today": usual_date((surface.site.time_zone for surface in surfaces), now()),
    }
    return render(request, "reporting/owner_start.html", context)


@login_required
@require_GET
def surface_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    return render(request, "reporting/surface_detail.html", surface_context(surface, request.current.units))


def surface_context(surface: Surface, units: str) -> dict[str, Any]:
    """What the surface's page shows."""
    forecast = getattr(surface, "forecast", None)
    items = record_of(surface, forecast)
    context = {
        "surface": surface,
        "site": surface.site,
        "forecast": forecast,
        "items": items,
        "odd": data_quality_of(forecast, items),
        "advice": surface.recommendations.ahead(),
        "picture": section_picture(surface, units),
        "plan": plan_picture(surface, units),
        "layers": surface.layers.all(),
        "locations": surface.locations.filter(retired=False),
        "limit": limit_known(surface, units),
        "acceptance": latest_acceptance(surface, units),
    }
    return context | _forecast_context(surface, forecast, items, units)


def _forecast_context(
    surface: Surface, forecast: Forecast | None, items: list[RecordItem], units: str
) -> dict[str, Any]:
    """What is shown of a forecast; nothing while there is none that can be read."""
    outlook = forecast.outlook if forecast else None
    if forecast is None or outlook is None:
        return {}
    return {
        "outlook": outlook,
        "figure": decline_figure(decline_record(surface, forecast, outlook, items), units),
        "sentence": forecast_sentence(surface, forecast, outlook, units),
        "kind": kind_sentence(forecast, outlook),
        "chart_title": chart_title(surface),
    }


@login_required
@require_GET
def site_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.OWNER, pk=pk)
    context = {
        "site": site,
        "surfaces": site.surfaces.select_related("forecast"),
        "agreement": getattr(site, "agreement", None),
    }
    return render(request, "reporting/site_detail.html", context)
