"""The page of what was changed in a firm, by whom and when, for whoever administers it."""

from collections.abc import Iterator
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.paginator import Page, Paginator
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from core.presentation.exports import export_response
from core.presentation.tables import ROWS_A_PAGE
from operations.forms.trail import TrailFilter
from operations.presentation.trail import CSV_HEADS, trail_lines, trail_table
from operations.selectors.trail import TrailList, TrailRow
from qa.selectors.days import firm_zone

ROWS_A_PIECE = 500


@login_required
@require_safe
def trail_list(request: PersonRequest) -> HttpResponse | HttpResponseBase:
    organisation = require_role(request.current, Role.ADMIN)
    form, zone = TrailFilter(request.GET, organisation), firm_zone(organisation)
    changes = TrailList(organisation, form.asked(), zone)
    if request.GET.get("export") == "csv":
        pieces: Iterator[list[TrailRow]] = changes.in_pieces(ROWS_A_PIECE)
        lines = (line for piece in pieces for line in trail_table(piece, zone))
        return export_response(CSV_HEADS, lines, "csv", "changes")
    listed: Any = changes  # read a slice at a time, which is all that a paginator does
    page: Page[TrailRow] = Paginator(listed, ROWS_A_PAGE).get_page(request.GET.get("page"))
    asked = request.GET.copy()
    asked.pop("page", None)
    asked["export"] = "csv"
    context = {"form": form, "page": page, "lines": trail_lines(page.object_list, zone)}
    return render(request, "operations/trail_list.html", context | {"file_query": asked.urlencode()})
