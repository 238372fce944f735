"""The days of the crews that a person goes out with."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from planning.calc.vocabulary import VisitStatus
from planning.models import Crew, Visit

AHEAD = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class DayAhead:
    """A day on which a crew goes out. sites: their names, each once."""

    on: date
    sites: tuple[str, ...]


def crews_of(user: User, organisation: Organisation) -> list[Crew]:
    """The active crews of a firm that somebody goes out with."""
    mine = Crew.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    return list(mine.filter(people=user, retired=False))


def days_ahead(crew: Crew, today: date) -> Sequence[DayAhead]:
    """Days of the next fortnight, today among them, on which the crew has a visit to make. Two queries."""
    rows = crew.visits.filter(status=VisitStatus.SCHEDULED, visit_on__range=(today, today + AHEAD))
    found: dict[date, dict[str, None]] = {}
    for visit in rows.prefetch_related("tasks__surface__site").order_by("visit_on"):
        names = (task.surface.site.name for task in visit.tasks.all())
        found.setdefault(visit.visit_on, {}).update(dict.fromkeys(names))
    return [DayAhead(on, tuple(names)) for on, names in found.items()]


def left_behind(crew: Crew, today: date) -> list[Visit]:
    """Visits of days that are over, of which nobody told how they went, the newest first."""
    rows = crew.visits.filter(status=VisitStatus.SCHEDULED, visit_on__lt=today, tasks__ended_at=None)
    return list(rows.filter(tasks__isnull=False).distinct().order_by("-visit_on")[:5])


def crew_chosen(crews: Sequence[Crew], asked: str) -> Crew:
    """The crew that the address names, else the first."""
    return next((crew for crew in crews if str(crew.pk) == asked), crews[0])


def day_to_show(days: Sequence[DayAhead], asked: date | None, today: date) -> date:
    """The day that is asked for; else today where there is work, else the next day that has some."""
    return asked or next((day.on for day in days), today)
