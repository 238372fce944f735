"""The charts of the page that says whether the forecasts can be trusted."""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from clogging.api import CleaningShare
from core.calc.paving import CleaningMethod
from core.presentation.charts import Chart
from maintenance.presentation.charts import BeliefRow, beliefs_figure, probability_histogram
from maintenance.selectors.calibration_report import CalibrationReport, expected_counts

TENTHS_SUMMARY = gettext_noop(
    "An honest tenth holds between the two dashed lines, 19 times in 20. Bars high in the middle: ranges are too wide. "
    "Bars high at both ends: too narrow. Bars high at one end: forecasts are too low or too high."
)
SHARES_SUMMARY = gettext_noop(
    "0 gives nothing back, 1 makes it as new, below 0 makes it worse; on the scale of ratios. Lines are 80 % ranges: "
    "open circles before any record, from published figures; filled ones now."
)


def tenths_chart(report: CalibrationReport) -> Chart | None:
    """In which tenth of its forecast each round fell; None before any forecast was followed by a round."""
    if report.calibration is None:
        return None
    low, high = expected_counts(report.calibration.n, len(report.bins))
    figure = probability_histogram([each.count for each in report.bins], low, high)
    return Chart("tenths", figure, _("Where rounds fell in their forecasts"), _(TENTHS_SUMMARY))


def beliefs_chart(shares: Sequence[CleaningShare]) -> Chart:
    """What each way of cleaning gives back, now and before any record."""
    rows = [BeliefRow(CleaningMethod(each.method).label, each.share, each.prior) for each in shares]
    figure = beliefs_figure(rows, _("share of the lost rate given back"))
    return Chart("shares", figure, _("Share of the lost rate given back, dry surface"), _(SHARES_SUMMARY))
