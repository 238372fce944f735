"""The sources of the firm's documents, and what it has verified of them."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.timezone import localdate
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show, save_with_reason
from reporting.forms.sources import SourceFilter, VerifyForm
from reporting.models import VerifiedSource
from reporting.selectors.sources import source_row, source_rows
from reporting.services import sources


@login_required
@require_safe
def source_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    rows = source_rows(organisation)
    narrowing = SourceFilter(request.GET)
    context = {
        "rows": rows,
        "shown": narrowing.narrowed(rows),
        "filter": narrowing,
        "verified": sum(row.verified is not None for row in rows),
    }
    return render(request, "reporting/source_list.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def source_verify(request: PersonRequest, key: UUID) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    row = source_row(organisation, key)
    new = VerifiedSource(organisation=organisation, citation=row.listed.source.citation)
    initial = {"verified_by": str(request.user)[:80], "verified_on": localdate()}
    form = VerifyForm(request.POST or None, instance=new, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: sources.verify_source(verified=form.save(commit=False), by=request.user),
        "reporting/source_form.html",
        row=row,
    )


@login_required
@require_http_methods(["GET", "POST"])
def source_withdraw(request: PersonRequest, pk: UUID) -> HttpResponse:
    verified = get_for_user(VerifiedSource, request.user, Role.COORDINATOR, pk=pk)
    return save_with_reason(
        request,
        lambda reason: sources.withdraw_verification(verified=verified, by=request.user, reason=reason),
        "reporting/source_withdraw.html",
        verified=verified,
    )
