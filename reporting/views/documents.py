"""Reports to owners and handover records, made from the record as it stands."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import override
from django.views.decorators.http import require_safe

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest, audience_of
from core.calc.format import day
from core.presentation.tables import page_of_rows
from planning.models import QuoteVersion
from qa.models import Site, Surface, TestRound
from qa.selectors.days import firm_today
from reporting.calc.certificate import CertificateSnapshot
from reporting.calc.handover import HandoverSnapshot
from reporting.calc.snapshots import ReportSnapshot
from reporting.presentation.certificate import certificate_paper, certificate_words
from reporting.presentation.pages import handover_page, report_page
from reporting.presentation.pdf import Paper, pdf_of
from reporting.presentation.quotes import quote_paper, quote_words
from reporting.selectors.certificates import certificate_snapshot
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.kept import kept_documents, kept_handovers, kept_reports
from reporting.selectors.quotes import quote_snapshot
from reporting.selectors.sendings import routine_of, sendings_of_site, to_send
from reporting.selectors.sites import report_snapshot, unreleased_count
from reporting.services.kept import EARLIEST
from reporting.services.papers import handover_paper_of, report_paper_of
from reporting.views.pages import ways

USUAL_PERIOD = timedelta(days=365)
SENDINGS_LISTED = 20  # on the page of a report; the list of sendings has all
MOST_LISTED = 50  # kept documents on the list of all; the page of each site has every one of its own


@login_required
@require_safe
def report_list(request: PersonRequest) -> HttpResponse:
    sites = Site.objects.for_user(request.user).select_related("owner")
    kept = kept_documents(request.user)
    if request.current.organisation:
        sites = sites.of_organisation(request.current.organisation)
        kept = kept.of_organisation(request.current.organisation)
    for word in request.GET.get("q", "").split():
        sites = sites.filter(Q(name__icontains=word) | Q(owner__name__icontains=word))
    context: dict[str, Any] = {"sites": page_of_rows(sites, request), "kept": kept[:MOST_LISTED]}
    if request.current.organisation and request.current.can_plan:
        context["to_send"] = to_send(request.user, request.current.organisation)
    return render(request, "reporting/report_list.html", context)


@login_required
@require_safe
def report_site(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, site.organisation)
    since, problem = period_start(request.GET.get("since", ""), site.today())
    report = report_page(report_snapshot(site, audience, since=since), request.current.units)
    context = report | {"site": site, "problem": problem, "kept": kept_reports(request.user, site)}
    if audience is Audience.FIRM:
        context["unreleased"] = unreleased_count(site)
        context["sendings"] = sendings_of_site(request.user, site)[:SENDINGS_LISTED]
        context["routine"] = routine_of(request.user, site)
    return render(request, "reporting/report_site.html", context | ways(request.current, audience))


def period_start(asked: str, today: date) -> tuple[date, str]:
    """The first day of the period asked for, or a year back with what was wrong."""
    usual = today - USUAL_PERIOD
    if not asked:
        return usual, ""
    try:
        since = date.fromisoformat(asked)
    except ValueError:
        said = _("{asked} is not a date. Give it as 2026-01-31. The report covers the last year.")
        return usual, said.format(asked=repr(asked))
    if since > today:
        return usual, _("{day} is in the future. The report covers the last year.").format(day=day(since))
    if since < EARLIEST:
        said = _("{day} is too long ago. Give {earliest} or later. The report covers the last year.")
        return usual, said.format(day=day(since), earliest=day(EARLIEST))
    return since, ""


@login_required
@require_safe
def report_download(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, site.organisation)
    since = period_start(request.GET.get("since", ""), site.today())[0]
    with override(site.owner.reads):
        return report_response(report_snapshot(site, audience, since=since), request.current.units)


def report_response(snapshot: ReportSnapshot, units: str) -> HttpResponse:
    """The report as a PDF to save."""
    return paper_response(
        report_paper_of(snapshot, units), f"report-{slugify(snapshot.site)}-{snapshot.made_on.isoformat()}"
    )


@login_required
@require_safe
def handover_show(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, surface.organisation)
    page = handover_page(handover_snapshot(surface, audience), request.current.units)
    context = (
        page
        | {"surface": surface, "kept": kept_handovers(request.user, surface)}
        | ways(request.current, audience)
    )
    return render(request, "reporting/handover.html", context)


@login_required
@require_safe
def handover_download(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, surface.organisation)
    with override(surface.site.owner.reads):
        return handover_response(handover_snapshot(surface, audience), request.current.units)


def handover_response(snapshot: HandoverSnapshot, units: str) -> HttpResponse:
    """The handover record as a PDF to save."""
    paper = handover_paper_of(snapshot, units)
    return paper_response(paper, f"handover-{slugify(snapshot.site)}-{slugify(snapshot.surface)}")


@login_required
@require_safe
def certificate_download(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_for_user(TestRound, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, round_.surface.organisation)
    with override(round_.surface.site.owner.reads):
        return certificate_response(certificate_snapshot(round_, audience), request.current.units)


def certificate_response(snapshot: CertificateSnapshot, units: str) -> HttpResponse:
    """A test certificate as a PDF to save."""
    name = (
        f"certificate-{slugify(snapshot.site)}-{slugify(snapshot.surface)}-{snapshot.tested_on.isoformat()}"
    )
    return paper_response(certificate_paper(snapshot, certificate_words(snapshot, units)), name)


@login_required
@require_safe
def quote_download(request: PersonRequest, pk: UUID) -> HttpResponse:
    version = get_for_user(QuoteVersion, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, version.quote.organisation)
    firm = version.quote.organisation
    with override(version.quote.owner.reads):
        snapshot = quote_snapshot(version, audience, firm_today(firm))
        paper = quote_paper(snapshot, quote_words(snapshot, request.current.units))
        return paper_response(paper, slugify(snapshot.name))


def paper_response(paper: Paper, name: str) -> HttpResponse:
    """A paper as a PDF to save. name: of the file, without its ending, in plain characters."""
    response = HttpResponse(pdf_of(paper), content_type="application/pdf")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}.pdf"'
    return response
