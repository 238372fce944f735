"""Rows of who goes where: agreements, crews, visits and what is to be done on them."""

from planning.models.agreements import Agreement
from planning.models.visits import Crew, Visit, VisitTask

__all__ = ["Agreement", "Crew", "Visit", "VisitTask"]
