"""Photos and PDFs of cleanings."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpResponse
from django.views.decorators.http import require_GET, require_http_methods

from accounts.acting import PersonRequest
from accounts.roles import Role
from accounts.tenancy import get_or_deny
from accounts.webforms import save_or_show, save_with_reason
from maintenance.models import CleaningAttachment, CleaningEvent
from maintenance.services import cleanings
from qa.forms.files import AttachForm
from qa.handing_out import file_response, thumbnail_response
from qa.services.files import set_file_aside


@login_required
@require_http_methods(["GET", "POST"])
def cleaning_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    event = get_or_deny(CleaningEvent, request.user, Role.TECHNICIAN, pk=pk)
    form = AttachForm(request.POST or None, request.FILES or None)
    return save_or_show(
        request,
        form,
        lambda: cleanings.attach_to_cleaning(event=event, sent=form.sent, by=request.user)[0],
        "qa/file_form.html",
        row=event,
    )


@login_required
@require_GET
def cleaning_file_show(request: PersonRequest, pk: UUID) -> FileResponse:
    return file_response(get_or_deny(CleaningAttachment, request.user, Role.OWNER, pk=pk))


@login_required
@require_GET
def cleaning_file_thumbnail(request: PersonRequest, pk: UUID) -> FileResponse:
    return thumbnail_response(get_or_deny(CleaningAttachment, request.user, Role.OWNER, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def cleaning_file_set_aside(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_or_deny(CleaningAttachment, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: set_file_aside(row=row, by=request.user, reason=reason),
        "qa/set_aside.html",
        record=row,
    )
