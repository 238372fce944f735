"""What owners were shown of the advice about their surfaces."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.audience import Audience, Matter
from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest, audience_of
from core.presentation.tables import ordered_and_paged, table_as_file
from core.views.form_views import save_with_reason
from maintenance.models import AdviceRelease
from maintenance.services import releases
from planning.presentation.releases import ReleaseTable


@login_required
@require_safe
def release_list(request: PersonRequest) -> HttpResponseBase:
    organisation = require_role(request.current, Role.VIEWER)
    rows = AdviceRelease.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    changed = "changed" in request.GET
    table = ReleaseTable(
        (rows.changed() if changed else rows).select_related("surface__site__owner", "released_by")
    )
    ordered_and_paged(table, request)
    if sent := table_as_file(table, request, "shown-to-owners"):
        return sent
    context = {"table": table, "changed": changed, "count_changed": rows.changed().count()}
    return render(request, "planning/release_list.html", context)


@login_required
@require_safe
def release_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(AdviceRelease, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, row.surface.organisation)
    context = {
        "release": row,
        "surface": row.surface,
        "of_firm": audience is Audience.FIRM,
        "with_prices": audience.sees(Matter.PRICES),
        "released_on": row.surface.site.today(row.released_at),
    }
    return render(request, "planning/release_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def release_withdraw(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(AdviceRelease, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: releases.withdraw(release=row, by=request.user, reason=reason),
        "planning/release_withdraw.html",
        release=row,
        surface=row.surface,
    )
