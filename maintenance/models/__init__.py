"""Rows of what happens to surfaces, what will happen, and what is advised."""

from maintenance.models.cleanings import CleaningEvent, MethodTerms
from maintenance.models.files import CleaningAttachment
from maintenance.models.forecasts import Forecast, PortfolioFit
from maintenance.models.handing_over import SitePlan, Training
from maintenance.models.recommendations import Recommendation

__all__ = [
    "CleaningAttachment",
    "CleaningEvent",
    "Forecast",
    "MethodTerms",
    "PortfolioFit",
    "Recommendation",
    "SitePlan",
    "Training",
]
