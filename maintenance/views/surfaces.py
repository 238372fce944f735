"""The list of surfaces, and asking for a forecast anew."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.presentation.exports import EXPORTS, export_response
from core.presentation.tables import ordered_and_paged, page_of_rows
from maintenance.forms.filters import SurfaceFilter
from maintenance.presentation.exports import surface_headers, surface_rows
from maintenance.presentation.tables import LISTED, SurfaceTable
from maintenance.services import forecasts
from qa.models import Site, Surface


@login_required
@require_safe
def surface_list(request: PersonRequest) -> HttpResponseBase:
    rows = Surface.objects.for_user(request.user).in_service()
    sites = Site.objects.for_user(request.user)
    if request.current.organisation:
        rows = rows.of_organisation(request.current.organisation)
        sites = sites.of_organisation(request.current.organisation)
    narrowed = SurfaceFilter(request.GET, queryset=rows, sites=sites)
    units = request.current.units
    table = SurfaceTable(narrowed.qs.select_related("site", "forecast").only(*LISTED), units=units)
    ordered_and_paged(table, request)
    export = request.GET.get("export")
    if export in EXPORTS:
        rows = table.data.data  # in the order that the address asks for
        return export_response(surface_headers(units), surface_rows(rows, units, now()), export, "surfaces")
    context = {"table": table, "filter": narrowed, "sites": page_of_rows(sites, request, "sites")}
    return render(request, "maintenance/surface_list.html", context)


@login_required
@require_POST
def surface_refresh(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    forecasts.force_refresh(surface=surface)
    messages.success(request, _("The forecast is being updated."))
    return redirect(surface)
