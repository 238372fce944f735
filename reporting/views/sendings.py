"""Sending documents by mail, reports that fell due, and what became of every sending."""

from datetime import date
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models import Organisation
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.presentation.tables import page_of_rows
from core.services import mail
from core.views.form_views import do_or_say, save_or_show
from qa.models import Site
from qa.selectors.days import firm_today, firm_zone
from reporting.calc.sharing import DueState, last_day_at_most
from reporting.forms.sendings import DueReportForm, SendForm, SendReportForm
from reporting.models import DueReport, ReportRoutine, Sending, Snapshot
from reporting.selectors.sendings import sendings_of, sendings_of_site, waiting_dues
from reporting.services import due_reports, links, sendings
from reporting.views.documents import period_start


@login_required
@require_safe
def sending_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    failed, site = "failed" in request.GET, _site_asked_for(request)
    rows = sendings_of_site(request.user, site) if site else sendings_of(request.user, organisation, failed)
    context = {
        "rows": page_of_rows(rows, request),
        "only_failed": failed,
        "site": site,
        "zone": firm_zone(organisation),
    }
    context |= {"dues": waiting_dues(request.user, organisation), "mail_is_set_up": mail.is_set_up()}
    return render(request, "reporting/sending_list.html", context)


def _site_asked_for(request: PersonRequest) -> Site | None:
    asked = request.GET.get("site")
    return get_for_user(Site, request.user, Role.COORDINATOR, pk=asked) if asked else None


@login_required
@require_http_methods(["GET", "POST"])
def report_send(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.COORDINATOR, pk=pk)
    since = period_start(request.GET.get("since", ""), site.today())[0]
    form = SendReportForm(
        request.POST or None,
        owner=site.owner,
        initial=_usual(request, site.organisation) | {"since": since},
    )

    def save() -> Snapshot:
        audience, first = form.report()
        mailing = form.mailing(_server(request))
        return sendings.send_report(
            site=site, audience=audience, since=first, mailing=mailing, by=request.user
        )

    return save_or_show(
        request, form, save, "reporting/report_send.html", site=site, **_about(site.organisation)
    )


@login_required
@require_http_methods(["GET", "POST"])
def kept_send(request: PersonRequest, pk: UUID) -> HttpResponse:
    document = get_for_user(Snapshot, request.user, Role.COORDINATOR, pk=pk)
    links.check_shareable(document)
    form = SendForm(
        request.POST or None,
        owner=document.owner,
        initial=_usual(request, document.organisation),
    )
    return save_or_show(
        request,
        form,
        lambda: sendings.send_document(
            document=document, mailing=form.mailing(_server(request)), by=request.user
        ),
        "reporting/kept_send.html",
        document=document,
        **_about(document.organisation),
    )


@login_required
@require_http_methods(["GET", "POST"])
def due_report(request: PersonRequest, pk: UUID) -> HttpResponse:
    due = get_for_user(DueReport, request.user, Role.COORDINATOR, pk=pk)
    site = due.site
    form = DueReportForm(
        request.POST or None,
        owner=site.owner,
        initial=_usual(request, site.organisation) | {"since": due.since},
    )

    def save() -> Snapshot:
        audience, since = form.report()
        given: dict[str, Any] = {"audience": audience, "since": since, "by": request.user}
        given["by_themselves"] = form.cleaned_data["by_themselves"]
        return due_reports.send_due(due=due, mailing=form.mailing(_server(request)), **given)

    about = _about(site.organisation) | {"due": due, "is_open": due.state == DueState.OPEN}
    return save_or_show(request, form, save, "reporting/due_report.html", site=site, **about)


def _usual(request: PersonRequest, organisation: Organisation) -> dict[str, Any]:
    return {"ends_on": links.usual_last_day(organisation), "units": request.current.units}


def _about(organisation: Organisation) -> dict[str, Any]:
    latest: date = last_day_at_most(firm_today(organisation))
    return {"mail_is_set_up": mail.is_set_up(), "latest": latest}


def _server(request: PersonRequest) -> str:
    return request.build_absolute_uri("/")


@login_required
@require_POST
def due_skip(request: PersonRequest, pk: UUID) -> HttpResponse:
    due = get_for_user(DueReport, request.user, Role.COORDINATOR, pk=pk)

    def skip() -> str:
        due_reports.skip_due(due=due, by=request.user)
        said = _("{report} is not sent this time. What it would have covered is in the next one.")
        return said.format(report=due)

    return do_or_say(request, skip, "reporting:sending-list")


@login_required
@require_POST
def sending_again(request: PersonRequest, pk: UUID) -> HttpResponse:
    sending = get_for_user(Sending, request.user, Role.COORDINATOR, pk=pk)

    def again() -> str:
        sendings.send_again(sending=sending)
        said = _("The mail to {address} is sent again within some minutes.")
        return said.format(address=sending.address)

    return do_or_say(request, again, sending)


@login_required
@require_POST
def routine_end(request: PersonRequest, pk: UUID) -> HttpResponse:
    routine = get_for_user(ReportRoutine, request.user, Role.COORDINATOR, pk=pk)

    def end() -> str:
        due_reports.end_routine(routine=routine, by=request.user)
        said = _("The next reports of {site} wait for you before they are sent.")
        return said.format(site=routine.site)

    do_or_say(request, end, "reporting:sending-list")
    return redirect("reporting:report-site", routine.site_id)
