"""What care is worth its money at a surface: programmes compared, and what staying within the limit is worth there."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show
from maintenance.forms.care import CareValueForm, worth_asked
from maintenance.presentation.care import care_page
from maintenance.selectors.care import below_price_m2_yr
from qa.models import Site, Surface
from qa.services import register


@login_required
@require_safe
def care_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.VIEWER, pk=pk)
    forecast = getattr(surface, "forecast", None)
    page = care_page(surface, forecast, below_price_m2_yr(surface), request.current.units)
    return render(request, "maintenance/care_detail.html", {"surface": surface, "care": page})


@login_required
@require_http_methods(["GET", "POST"])
def care_value(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.COORDINATOR, pk=pk)
    # One of the programmes was chosen: its figure stands in the form, to be looked at and stored.
    chosen = worth_asked(request.GET.get("worth", ""))
    form = CareValueForm(
        request.POST or None, instance=surface.site, initial=chosen, units=request.current.units
    )
    return save_or_show(
        request,
        form,
        lambda: _stored(form.instance, surface),
        "maintenance/care_value.html",
        surface=surface,
    )


def _stored(site: Site, surface: Surface) -> str:
    register.save_site(site=site)
    return reverse("maintenance:care-detail", args=[surface.pk])
