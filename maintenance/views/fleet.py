"""What the fleet teaches, and whether its forecasts can be trusted."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from accounts.acting import PersonRequest
from accounts.roles import Role
from accounts.tenancy import acting_or_deny
from maintenance.charts import BeliefRow, beliefs_figure, probability_histogram
from maintenance.models import CleaningMethod, FleetFit
from maintenance.services import fleet
from maintenance.services.honesty import Honesty, honest_counts, honesty_of


@login_required
@require_GET
def fleet_detail(request: PersonRequest) -> HttpResponse:
    organisation = acting_or_deny(request.acting, Role.VIEWER)
    honesty = honesty_of(organisation)
    fits = FleetFit.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    context = {"honesty": honesty, "fits": fits.defer("result")[:6], **figures(honesty)}
    return render(request, "maintenance/fleet.html", context)


def figures(honesty: Honesty) -> dict[str, Any]:
    """The page's charts, as plain dicts."""
    shares = [
        BeliefRow(CleaningMethod(s.method).label, s.share._asdict(), s.prior._asdict())
        for s in honesty.shares
    ]
    drawn: dict[str, Any] = {"shares_figure": beliefs_figure(shares, "share of the lost rate given back")}
    if honesty.calibration:
        low, high = honest_counts(honesty.calibration.n, len(honesty.bins))
        drawn |= {
            "histogram": probability_histogram([b.count for b in honesty.bins], low, high),
            "honest_low": low,
            "honest_high": high,
        }
    return drawn


@login_required
@require_POST
def fleet_fit(request: PersonRequest) -> HttpResponse:
    organisation = acting_or_deny(request.acting, Role.COORDINATOR)
    fleet.ask_fit(organisation=organisation)
    messages.success(request, "The fleet is being fitted to all your records.")
    return redirect("maintenance:fleet-detail")
