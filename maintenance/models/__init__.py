"""Rows of what happens to surfaces, what will happen, and what is advised."""

from maintenance.models.cleanings import CleaningEvent, CleaningMethod, MethodTerms, Wetness
from maintenance.models.files import CleaningAttachment
from maintenance.models.forecasts import Forecast, PortfolioFit
from maintenance.models.recommendations import Action, Recommendation

__all__ = [
    "Action",
    "CleaningAttachment",
    "CleaningEvent",
    "CleaningMethod",
    "Forecast",
    "MethodTerms",
    "PortfolioFit",
    "Recommendation",
    "Wetness",
]
