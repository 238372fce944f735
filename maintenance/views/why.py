"""Why something is advised, worked through."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from maintenance.models import MethodTerms, Recommendation
from maintenance.presentation.why import Told, WhyPage, why_page
from maintenance.selectors.care import below_price_m2_yr, plain_terms


@login_required
@require_safe
def recommendation_why(request: PersonRequest, pk: UUID) -> HttpResponse:
    row = get_for_user(Recommendation, request.user, Role.VIEWER, pk=pk)
    context = {"recommendation": row, "surface": row.surface, "why": _page(row, request)}
    return render(request, "maintenance/recommendation_why.html", context)


def _page(row: Recommendation, request: PersonRequest) -> WhyPage | None:
    """None where the forecast that it rests on is not there any more."""
    forecast = getattr(row.surface, "forecast", None)
    outlook = forecast.outlook if forecast else None
    if forecast is None or outlook is None:
        return None
    mine = MethodTerms.objects.for_user(request.user, Role.VIEWER).of_organisation(row.surface.organisation)
    terms = mine.filter(method=row.method).first()
    worth = below_price_m2_yr(row.surface)
    told = Told(row, forecast, outlook, plain_terms(terms) if terms else None, worth)
    return why_page(told, request.current.units)
