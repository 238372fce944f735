"""A whole portfolio on one page, and each of its tables as a file."""

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from accounts.views.current_organisation import PersonRequest
from core.presentation.exports import EXPORTS, export_response
from reporting.forms.portfolio import PortfolioForm
from reporting.presentation.portfolio import portfolio_page
from reporting.presentation.portfolio_tables import tables
from reporting.selectors.portfolio import portfolio_snapshot


@login_required
@require_safe
def portfolio_show(request: PersonRequest) -> HttpResponse | FileResponse | StreamingHttpResponse:
    form = PortfolioForm(request.GET)
    found = portfolio_snapshot(request.user, request.current.organisation, form.grouping)
    kind = request.GET.get("export")
    if kind in EXPORTS:
        name = request.GET.get("table", "")
        table = tables(found, request.current.units).get(name)
        if table is None:
            raise Http404(_("There is no table {name} here.").format(name=repr(name)))
        return export_response(table.headers, table.rows, kind, f"portfolio-{name}-{found.today:%Y-%m-%d}")
    addresses = {site.key: reverse("reporting:site-detail", args=[site.key]) for site in found.sites}
    page = portfolio_page(found, request.current.units, addresses)
    context = {
        "form": form,
        "page": page,
        "found": found,
        "of_firm": request.current.organisation is not None,
    }
    return render(request, "reporting/portfolio.html", context)
