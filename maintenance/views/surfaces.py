"""The list of surfaces, and asking for a forecast anew."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.presentation.exports import export_response
from core.presentation.tables import ordered_and_paged
from maintenance.forms.filters import SurfaceFilter
from maintenance.presentation.tables import SurfaceTable
from maintenance.services import forecasts
from qa.models import Site, Surface

EXPORTS = ("csv", "xlsx")


@login_required
@require_safe
def surface_list(request: PersonRequest) -> HttpResponse:
    rows = Surface.objects.for_user(request.user).in_service().select_related("site__owner", "forecast")
    sites = Site.objects.for_user(request.user)
    if request.current.organisation:
        rows = rows.of_organisation(request.current.organisation)
        sites = sites.of_organisation(request.current.organisation)
    narrowed = SurfaceFilter(request.GET, queryset=rows, sites=sites)
    table = SurfaceTable(narrowed.qs, units=request.current.units)
    ordered_and_paged(table, request)
    export = request.GET.get("export")
    if export in EXPORTS:
        return export_response(table.with_units_in_headers(), export, "surfaces")
    context = {"table": table, "filter": narrowed, "sites": sites}
    return render(request, "maintenance/surface_list.html", context)


@login_required
@require_POST
def surface_refresh(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    forecasts.force_refresh(surface=surface)
    messages.success(request, "The forecast is being updated.")
    return redirect(surface)
