"""Reports to owners."""

from datetime import date, timedelta
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from qa.models import Site, Surface
from reporting.presentation.handover import handover
from reporting.presentation.owner import owner_report
from reporting.presentation.pdf import handover_pdf

USUAL_PERIOD = timedelta(days=365)


@login_required
@require_GET
def report_list(request: PersonRequest) -> HttpResponse:
    sites = Site.objects.for_user(request.user).select_related("owner")
    if request.current.organisation:
        sites = sites.of_organisation(request.current.organisation)
    return render(request, "reporting/report_list.html", {"sites": sites})


@login_required
@require_GET
def report_site(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.OWNER, pk=pk)
    asked = request.GET.get("since", "")
    since, problem = period_start(asked, site.today())
    report = owner_report(site, since=since, units=request.current.units)
    return render(
        request, "reporting/report_site.html", {"report": report, "problem": problem, "asked": asked}
    )


def period_start(asked: str, today: date) -> tuple[date, str]:
    """The first day of the period asked for, or a year back with what was wrong."""
    usual = today - USUAL_PERIOD
    if not asked:
        return usual, ""
    try:
        since = date.fromisoformat(asked)
    except ValueError:
        return usual, f"{asked!r} is not a date. Give it as 2026-01-31. The report covers the last year."
    if since > today:
        return usual, f"{asked} is in the future. The report covers the last year."
    return since, ""


@login_required
@require_GET
def handover_show(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    content = handover(surface, units=request.current.units)
    return render(request, "reporting/handover.html", {"surface": surface, "record": content})


@login_required
@require_GET
def handover_download(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    content = handover(surface, units=request.current.units, for_paper=True)
    response = HttpResponse(handover_pdf(content), content_type="application/pdf")
    name = f"handover-{slugify(surface.site.name)}-{slugify(surface.name)}.pdf"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
