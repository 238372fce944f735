"""Cost and price by month and owner."""

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from core.presentation.exports import EXPORTS, export_response
from planning.forms.cost_months import CostMonthsForm
from planning.presentation.cost_months import HEADERS, cost_page, export_rows
from planning.selectors.cost_months import costs_of
from qa.selectors.days import firm_today


@login_required
@require_safe
def cost_show(request: PersonRequest) -> HttpResponse | FileResponse | StreamingHttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    form = CostMonthsForm(request.GET, organisation=organisation, today=firm_today(organisation))
    first, last = form.period
    found = costs_of(request.user, organisation, form.cleaned_data.get("owner"), first, last)
    kind = request.GET.get("export")
    if kind in EXPORTS:
        rows = export_rows(found, organisation.currency)
        return export_response(HEADERS, rows, kind, f"cost-and-price-{first:%Y-%m}-to-{last:%Y-%m}")
    page = cost_page(found, organisation.currency)
    context = {"form": form, "page": page, "first": first, "last": last}
    return render(request, "planning/cost_show.html", context)
