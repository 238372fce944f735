"""Rows of what happens to surfaces, what will happen, and what is advised."""

from maintenance.models.cleanings import CleaningEvent, MethodTerms
from maintenance.models.files import CleaningAttachment
from maintenance.models.forecasts import Forecast, PortfolioFit
from maintenance.models.handing_over import SitePlan, Training
from maintenance.models.prices import PriceList
from maintenance.models.recommendations import Recommendation
from maintenance.models.releases import AdviceRelease

__all__ = [
    "AdviceRelease",
    "CleaningAttachment",
    "CleaningEvent",
    "Forecast",
    "MethodTerms",
    "PortfolioFit",
    "PriceList",
    "Recommendation",
    "SitePlan",
    "Training",
]
