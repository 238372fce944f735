"""Sheets to write tests on by hand."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from qa.models import Surface, TestRound
from qa.presentation.plan import plan_picture
from reporting.presentation.field_sheet import START, field_sheet_paper
from reporting.selectors.field_sheets import field_sheet
from reporting.views.documents import paper_response


@login_required
@require_safe
def surface_sheet(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    return _sheet(request, surface, None)


@login_required
@require_safe
def round_sheet(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_for_user(TestRound, request.user, Role.TECHNICIAN, pk=pk)
    return _sheet(request, round_.surface, round_)


def _sheet(request: PersonRequest, surface: Surface, round_: TestRound | None) -> HttpResponse:
    units = request.current.units
    plan = plan_picture(surface, units, for_paper=True, numbered=True).svg
    paper = field_sheet_paper(
        field_sheet(surface, round_), units, plan, lambda key: _address(request, surface, round_, str(key))
    )
    return paper_response(paper, f"field-sheet-{slugify(surface.site.name)}-{slugify(surface.name)}")


def _address(request: HttpRequest, surface: Surface, round_: TestRound | None, key: str) -> str:
    """Of a round that was begun the form for a spot; else the page where a round is begun."""
    if round_ is None:
        return request.build_absolute_uri(reverse("qa:round-create", args=[surface.pk]))
    query = "" if key == START else f"?location={key}"
    return request.build_absolute_uri(reverse("qa:test-create", args=[round_.pk]) + query)
