"""Rows of who goes where: agreements, crews, visits and what is to be done on them."""

from planning.models.agreements import Agreement
from planning.models.crews import Crew, CrewAbsence, CrewMethod
from planning.models.quotes import Quote, QuoteLine, QuoteVersion
from planning.models.visits import Visit, VisitTask
from planning.models.work_plans import DriveTable, WorkPlan

__all__ = [
    "Agreement",
    "Crew",
    "CrewAbsence",
    "CrewMethod",
    "DriveTable",
    "Quote",
    "QuoteLine",
    "QuoteVersion",
    "Visit",
    "VisitTask",
    "WorkPlan",
]
