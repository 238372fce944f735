"""Soil infiltration tests of a surface."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show, save_with_reason
from qa.forms.soil_tests import SoilTestForm
from qa.models import SoilTest, Surface
from qa.services import soil_tests


@login_required
@require_http_methods(["GET", "POST"])
def soil_test_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    test = SoilTest(surface=surface)
    form = SoilTestForm(
        request.POST or None,
        instance=test,
        units=request.current.units,
        initial={"tested_on": surface.site.today()},
    )
    return save_or_show(
        request,
        form,
        lambda: soil_tests.record_soil_test(test=test, by=request.user),
        "qa/soil_test_form.html",
        surface=surface,
    )


@login_required
@require_http_methods(["GET", "POST"])
def soil_test_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    test = get_for_user(SoilTest, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: soil_tests.void_soil_test(test=test, by=request.user, reason=reason),
        "void_page.html",
        record=test,
    )
