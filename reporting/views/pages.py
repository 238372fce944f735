"""The first page, and the pages of sites and surfaces."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from accounts.models import Organisation
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import CurrentOrganisation, PersonRequest, audience_of
from accounts.views.opened import note_opened
from planning.forms.work import WorkFilter
from planning.models import Crew
from planning.presentation.quotes import QuoteRow, quote_rows
from planning.presentation.work import total_figures, trip_lines
from planning.selectors.own_days import crews_of
from planning.selectors.quotes import days_of_firms, quotes_of_site, to_answer, to_answer_about
from planning.selectors.todo import to_do
from qa.models import Site, Surface
from qa.selectors.days import firm_today
from reporting.presentation.pages import site_page, start_page, surface_page
from reporting.selectors.first_steps import is_begun, progress_of
from reporting.selectors.histories import calculation_of
from reporting.selectors.kept import kept_documents
from reporting.selectors.messages import questions_waiting
from reporting.selectors.parts import forecast_of
from reporting.selectors.sendings import to_send
from reporting.selectors.sites import site_snapshot, sites_in_service, start_snapshot
from reporting.selectors.surfaces import surface_snapshot
from reporting.views.first_steps import steps_page
from reporting.views.messages import seen_thread
from reporting.views.own_day import own_day_page

QUESTIONS_SHOWN = 20
SITES_A_PAGE = 20
ABOVE_SURFACE = ("site__organisation", "site__owner__organisation")


@login_required
@require_safe
def start(request: PersonRequest) -> HttpResponse:
    if request.current.organisation is None:
        return _owner_start(request)
    crews = own_crews(request)
    if crews:
        return own_day_page(request, request.current.organisation, crews)
    if not is_begun(request.current.organisation):
        return steps_page(request, progress_of(request.current.organisation))
    return render(request, "reporting/todo.html", _todo(request, request.current.organisation))


def _owner_start(request: PersonRequest) -> HttpResponse:
    keys = sites_in_service(request.user).values_list("pk", flat=True)
    sites = Paginator(keys, SITES_A_PAGE).get_page(request.GET.get("page"))
    snapshot, waiting = start_snapshot(request.user, now(), sites=list(sites)), to_answer(request.user)
    page = start_page(snapshot, request.GET.get("coming"))
    quotes = quote_rows(waiting, days_of_firms(waiting))
    return render(request, "reporting/owner_start.html", page | {"sites": sites, "quotes": quotes})


def own_crews(request: PersonRequest) -> list[Crew]:
    """The crews of a person who goes out and does not plan: they begin with their day."""
    current = request.current
    goes_out = current.can_record and not current.can_plan and current.organisation is not None
    return crews_of(request.user, current.organisation) if goes_out and current.organisation else []


@login_required
@require_safe
def todo_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    return render(request, "reporting/todo.html", _todo(request, organisation))


def _todo(request: PersonRequest, organisation: Organisation) -> dict[str, Any]:
    narrowed = WorkFilter(request.GET, organisation=organisation)
    asked, page = narrowed.asked, request.GET.get("page", 1)
    asked_by_owners = list(questions_waiting(request.user, organisation))
    found = to_do(request.user, organisation, now(), asked, page)
    return {
        "todo": found,
        "filter": narrowed,
        "asked": asked,
        "trips": trip_lines(found.work, request.current.units, asked.status),
        "totals": total_figures(found.work.totals, organisation.currency),
        "here": request.get_full_path(),
        "to_send": to_send(request.user, organisation) if request.current.can_plan else None,
        "questions": asked_by_owners[:QUESTIONS_SHOWN],
        "questions_count": len(asked_by_owners),
    }


@login_required
@require_safe
def surface_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, joined=ABOVE_SURFACE, pk=pk)
    note_opened(request, surface)
    audience = audience_of(request.current, surface.organisation)
    page = surface_page(surface_snapshot(surface, audience), request.current.units)
    page["site"] = surface.site
    page["thread"] = seen_thread(request, surface, audience)
    page["asked"] = _asked_of(request, surface) if audience is not Audience.FIRM else []
    return render(request, "reporting/surface_detail.html", page | ways(request.current, audience))


@login_required
@require_safe
def forecast_progress(request: PersonRequest, pk: UUID) -> HttpResponse:
    """The part of the page that says how the making of the forecast stands, while it is being made."""
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, surface.organisation)
    calculation = calculation_of(forecast_of(surface), audience)
    return render(request, "reporting/_forecast_progress.html", {"calculation": calculation})


def _asked_of(request: PersonRequest, surface: Surface) -> list[QuoteRow]:
    """Quotes with work on a surface that wait for the reader's answer."""
    waiting = to_answer_about(request.user, surface)
    return quote_rows(waiting, days_of_firms(waiting))


@login_required
@require_safe
def site_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.OWNER, pk=pk)
    note_opened(request, site)
    audience = audience_of(request.current, site.organisation)
    page = site_page(site_snapshot(site, audience), request.current.units)
    context = page | {"owner": site.owner, "kept": kept_documents(request.user).filter(site=site)}
    context["quotes"] = quote_rows(
        quotes_of_site(request.user, site), {site.organisation.pk: firm_today(site.organisation)}
    )
    return render(request, "reporting/site_detail.html", context | ways(request.current, audience))


def ways(current: CurrentOrganisation, audience: Audience) -> dict[str, Any]:
    """What the reader is offered to do; what they may do is decided where they do it."""
    of_firm = audience is Audience.FIRM
    return {
        "of_firm": of_firm,
        "may_record": of_firm and current.can_record,
        "may_plan": of_firm and current.can_plan,
    }
