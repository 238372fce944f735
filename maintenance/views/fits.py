"""What a firm's records show, and whether forecasts made from them can be trusted."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.paving import CleaningMethod
from maintenance.models import PortfolioFit
from maintenance.presentation.charts import BeliefRow, beliefs_figure, probability_histogram
from maintenance.selectors.calibration_report import CalibrationReport, calibration_report_of, expected_counts
from maintenance.services import fits


@login_required
@require_GET
def calibration(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    report = calibration_report_of(organisation)
    newest = PortfolioFit.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    context = {"report": report, "fits": newest.defer("result")[:6], **figures(report)}
    return render(request, "maintenance/calibration.html", context)


def figures(report: CalibrationReport) -> dict[str, Any]:
    """The page's charts, as plain dicts."""
    shares = [
        BeliefRow(CleaningMethod(s.method).label, s.share._asdict(), s.prior._asdict()) for s in report.shares
    ]
    drawn: dict[str, Any] = {"shares_figure": beliefs_figure(shares, "share of the lost rate given back")}
    if report.calibration:
        low, high = expected_counts(report.calibration.n, len(report.bins))
        drawn |= {
            "histogram": probability_histogram([b.count for b in report.bins], low, high),
            "expected_low": low,
            "expected_high": high,
        }
    return drawn


@login_required
@require_POST
def fit_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    fits.request_fit(organisation=organisation)
    messages.success(request, "The model is being updated from all your records.")
    return redirect("maintenance:calibration")
