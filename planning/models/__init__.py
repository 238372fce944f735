"""Rows of who goes where: agreements, crews, visits and what is to be done on them."""

from planning.models.agreements import Agreement
from planning.models.crews import Crew, CrewAbsence, CrewMethod
from planning.models.feeds import CalendarFeed
from planning.models.notices import OwnerNotice, ToldDay
from planning.models.quotes import Quote, QuoteLine, QuoteVersion
from planning.models.visits import Visit, VisitTask
from planning.models.work_plans import DriveTable, WorkPlan

__all__ = [
    "Agreement",
    "CalendarFeed",
    "Crew",
    "CrewAbsence",
    "CrewMethod",
    "DriveTable",
    "OwnerNotice",
    "Quote",
    "QuoteLine",
    "QuoteVersion",
    "ToldDay",
    "Visit",
    "VisitTask",
    "WorkPlan",
]
