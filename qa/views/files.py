"""Adding photos and PDFs, handing them out to who may see them, setting them aside."""

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
from qa.models import (
    Attachment,
    CheckEntry,
    CorrectiveWork,
    InfiltrationTest,
    InspectionFinding,
    Remedy,
    Surface,
    TestRound,
)
from qa.services import files


@login_required
@require_http_methods(["GET", "POST"])
def surface_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def round_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_for_user(TestRound, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def test_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_for_user(InfiltrationTest, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def entry_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_for_user(CheckEntry, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def work_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_for_user(CorrectiveWork, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def finding_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_for_user(InspectionFinding, request.user, Role.TECHNICIAN, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def remedy_file_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _attach(request, get_for_user(Remedy, request.user, Role.TECHNICIAN, pk=pk))


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
@require_safe
def file_show(request: PersonRequest, pk: UUID) -> HttpResponseBase:
    return file_response(get_for_user(Attachment, request.user, Role.OWNER, pk=pk), request)


@login_required
@require_safe
def file_thumbnail(request: PersonRequest, pk: UUID) -> HttpResponseBase:
    return thumbnail_response(get_for_user(Attachment, request.user, Role.OWNER, pk=pk))


@login_required
@require_http_methods(["GET", "POST"])
def file_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(Attachment, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: void_file(row=row, by=request.user, reason=reason),
        "void_page.html",
        record=row,
    )
