"""Rows of who goes where: agreements, crews, visits and what is to be done on them."""

from planning.models.agreements import Agreement
from planning.models.crews import Crew, CrewAbsence, CrewMethod
from planning.models.visits import Visit, VisitTask
from planning.models.work_plans import DriveTable, WorkPlan

__all__ = ["Agreement", "Crew", "CrewAbsence", "CrewMethod", "DriveTable", "Visit", "VisitTask", "WorkPlan"]
