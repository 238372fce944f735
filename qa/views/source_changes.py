"""Changes of what washes fines on to a surface."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show, save_with_reason
from qa.forms.inspections import SourceChangeForm
from qa.models import SourceChange, Surface
from qa.services import inspections
from qa.views.inspections import say_stored


@login_required
@require_http_methods(["GET", "POST"])
def source_change_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    change = SourceChange(surface=surface)
    initial = {"changed_on": surface.site.today(), "finding": request.GET.get("finding")}
    form = SourceChangeForm(request.POST or None, instance=change, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: say_stored(
            request,
            change,
            inspections.record_source_change(change=change, by=request.user),
            _("Stored. The forecast counts with it from that day on."),
        ),
        "qa/source_change_form.html",
        surface=surface,
    )


@login_required
@require_safe
def source_change_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    change = get_for_user(SourceChange, request.user, Role.OWNER, pk=pk)
    return render(request, "qa/source_change_detail.html", {"change": change, "surface": change.surface})


@login_required
@require_http_methods(["GET", "POST"])
def source_change_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    change = get_for_user(SourceChange, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: inspections.void_source_change(change=change, by=request.user, reason=reason),
        "void_page.html",
        record=change,
    )
