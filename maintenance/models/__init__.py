"""Rows of what happens to surfaces, what will happen, and what to do."""

from maintenance.models.agreements import Agreement
from maintenance.models.cleanings import CleaningEvent, CleaningMethod, MethodTerms, Wetness
from maintenance.models.files import CleaningAttachment
from maintenance.models.forecasts import FleetFit, Forecast
from maintenance.models.recommendations import Action, Recommendation
from maintenance.models.visits import Crew, Visit, VisitTask

__all__ = [
    "Action",
    "Agreement",
    "CleaningAttachment",
    "CleaningEvent",
    "CleaningMethod",
    "Crew",
    "FleetFit",
    "Forecast",
    "MethodTerms",
    "Recommendation",
    "Visit",
    "VisitTask",
    "Wetness",
]
