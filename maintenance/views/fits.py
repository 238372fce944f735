"""What a firm's records show, and whether forecasts made from them can be trusted."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from maintenance.models import PortfolioFit
from maintenance.presentation.calibration import beliefs_chart, tenths_chart
from maintenance.presentation.wording import fit_sentence
from maintenance.selectors.calibration_report import calibration_report_of
from maintenance.selectors.fits import latest_fit
from maintenance.services import fits
from qa.selectors.days import firm_zone


@login_required
@require_safe
def calibration(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    report = calibration_report_of(organisation)
    newest = PortfolioFit.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)
    context = {
        "report": report,
        "zone": firm_zone(organisation),
        "fits": newest.defer("result")[:6],
        "shares_chart": beliefs_chart(report.shares),
        "tenths_chart": tenths_chart(report),
        "fit_sentence": fit_sentence(report.unfinished),
    }
    return render(request, "maintenance/calibration.html", context)


@login_required
@require_safe
def fit_progress(request: PersonRequest) -> HttpResponse:
    """The part of the page that says how far a fit is; once there is none, the page asks no more."""
    organisation = require_role(request.current, Role.VIEWER)
    fit = latest_fit(organisation)
    context = {"fit": fit, "sentence": fit_sentence(fit)}
    return render(request, "maintenance/_fit_progress.html", context)


@login_required
@require_POST
def fit_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    fits.request_fit(organisation=organisation)
    messages.success(request, _("The model is being updated from all your records."))
    return redirect("maintenance:calibration")
