"""Keeping documents, and opening, saving and withdrawing those that were kept."""

import logging
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import override
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest, audience_of
from core.calc.payload import UNREADABLE
from core.errors import UnreadablePayloadError
from core.views.form_views import save_or_show, save_with_reason
from qa.models import Site, Surface
from reporting.calc.handover import HandoverSnapshot
from reporting.calc.schemas import Kept
from reporting.forms.kept import KeepForm, KeepReportForm
from reporting.models import Snapshot
from reporting.presentation.pages import handover_page, report_page
from reporting.selectors.kept import thaw
from reporting.selectors.links import links_to
from reporting.selectors.photos import mark_set_aside
from reporting.selectors.sendings import sendings_of_document
from reporting.services import kept
from reporting.views.documents import handover_response, period_start, report_response
from reporting.views.pages import ways

log = logging.getLogger(__name__)


@login_required
@require_http_methods(["GET", "POST"])
def report_keep(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.COORDINATOR, pk=pk)
    since = period_start(request.GET.get("since", ""), site.today())[0]
    form = KeepReportForm(request.POST or None, initial={"since": since})
    return save_or_show(
        request,
        form,
        lambda: kept.freeze_report(site=site, by=request.user, **form.cleaned_data),
        "reporting/report_keep.html",
        site=site,
    )


@login_required
@require_http_methods(["GET", "POST"])
def handover_keep(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.COORDINATOR, pk=pk)
    form = KeepForm(request.POST or None)
    return save_or_show(
        request,
        form,
        lambda: kept.freeze_handover(surface=surface, by=request.user, **form.cleaned_data),
        "reporting/handover_keep.html",
        surface=surface,
    )


@login_required
@require_safe
def kept_show(request: PersonRequest, pk: UUID) -> HttpResponse:
    document = get_for_user(Snapshot, request.user, Role.OWNER, pk=pk)
    context = {"document": document} | ways(
        request.current, audience_of(request.current, document.organisation)
    )
    if request.current.can_plan and context["of_firm"]:
        context |= _sharing(request, document)
    try:
        with override(document.language):
            page = page_of(thaw(document), request.current.units)
    except UnreadablePayloadError as error:
        log.error("Kept document %s cannot be read: %s", document.pk, error)
        return render(
            request, "reporting/kept_unreadable.html", context | {"problem": _(UNREADABLE)}, status=500
        )
    return render(request, "reporting/kept.html", context | page)


def _sharing(request: PersonRequest, document: Snapshot) -> dict[str, Any]:
    return {
        "sendings": sendings_of_document(request.user, document),
        "shared": links_to(request.user, document),
        "may_share": document.is_active and document.audience != Audience.FIRM,
    }


def page_of(snapshot: Kept, units: str) -> dict[str, Any]:
    """What the page of a kept document shows, in these units."""
    if isinstance(snapshot, HandoverSnapshot):
        page = handover_page(snapshot, units)
        return page | {"record": mark_set_aside(page["record"])}
    return report_page(snapshot, units)


@login_required
@require_safe
def kept_download(request: PersonRequest, pk: UUID) -> HttpResponse:
    document = get_for_user(Snapshot, request.user, Role.OWNER, pk=pk)
    snapshot = thaw(document)
    with override(document.language):
        if isinstance(snapshot, HandoverSnapshot):
            return handover_response(snapshot, request.current.units)
        return report_response(snapshot, request.current.units)


@login_required
@require_http_methods(["GET", "POST"])
def kept_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    document = get_for_user(Snapshot, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: kept.withdraw(document=document, by=request.user, reason=reason),
        "reporting/kept_void.html",
        document=document,
    )
