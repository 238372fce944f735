"""Adding photos and PDFs, handing them out to who may see them, setting them aside."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpResponse
from django.views.decorators.http import require_GET, require_http_methods

from accounts.acting import PersonRequest
from accounts.roles import Role
from accounts.tenancy import get_or_deny
from accounts.webforms import save_or_show, save_with_reason
from qa.forms.files import AttachForm
from qa.handing_out import file_response, thumbnail_response
from qa.models import Attachment, CheckEntry, CorrectiveWork, Surface, TestRound
from qa.services import files


@login_required
@require_http_methods(["GET", "POST"])
def surface_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_or_deny(Surface, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def round_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_or_deny(TestRound, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def entry_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_or_deny(CheckEntry, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def work_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_or_deny(CorrectiveWork, request.user, Role.TECHNICIAN, pk=pk))


def _attach(request: PersonRequest, row: files.Showing) -> HttpResponse:
    form = AttachForm(request.POST or None, request.FILES or None)
    return save_or_show(
        request,
        form,
        lambda: files.attach(to=row, sent=form.sent, by=request.user)[0],
        "qa/file_form.html",
        row=row,
    )


@login_required
@require_GET
def file_show(request: PersonRequest, pk: UUID) -> FileResponse:
    return file_response(get_or_deny(Attachment, request.user, Role.OWNER, pk=pk))


@login_required
@require_GET
def file_thumbnail(request: PersonRequest, pk: UUID) -> FileResponse:
    return thumbnail_response(get_or_deny(Attachment, request.user, Role.OWNER, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def file_set_aside(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_or_deny(Attachment, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: files.set_file_aside(row=row, by=request.user, reason=reason),
        "qa/set_aside.html",
        record=row,
    )
