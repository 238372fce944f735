"""Photos and PDFs of cleanings."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.forms.files import AttachForm
from core.services.files import void_file
from core.views.file_responses import file_response, thumbnail_response
from core.views.form_views import save_or_show, save_with_reason
from maintenance.models import CleaningAttachment, CleaningEvent
from maintenance.services import cleanings


@login_required
@require_http_methods(["GET", "POST"])
def cleaning_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    event = get_for_user(CleaningEvent, request.user, Role.TECHNICIAN, pk=pk)
    form = AttachForm(request.POST or None, request.FILES or None)
    return save_or_show(
        request,
        form,
        lambda: cleanings.attach_to_cleaning(event=event, sent=form.sent, by=request.user)[0],
        "qa/file_form.html",
        row=event,
    )


@login_required
@require_safe
def cleaning_file_show(request: PersonRequest, pk: UUID) -> HttpResponseBase:
    return file_response(get_for_user(CleaningAttachment, request.user, Role.OWNER, pk=pk), request)


@login_required
@require_safe
def cleaning_file_thumbnail(request: PersonRequest, pk: UUID) -> HttpResponseBase:
    return thumbnail_response(get_for_user(CleaningAttachment, request.user, Role.OWNER, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def cleaning_file_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(CleaningAttachment, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: void_file(row=row, by=request.user, reason=reason),
        "void_page.html",
        record=row,
    )
