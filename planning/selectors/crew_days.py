"""A crew's day: where it goes in which order, and what is to be done there."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from accounts.calc.roles import Role
from accounts.models import User
from planning.calc.plan_payload import PlannedDay
from planning.calc.stop_order import Position, nearest_next
from planning.calc.vocabulary import VisitStatus
from planning.models import Crew, CrewAbsence, Visit, VisitTask
from qa.models import Site, Surface


@dataclass(frozen=True, slots=True)
class SiteStop:
    """A stop at a site. begins_min, ends_min: minutes from midnight, None where no plan gave times."""

    number: int
    site: Site
    tasks: Sequence[VisitTask]
    begins_min: int | None
    ends_min: int | None

    @property
    def position(self) -> Position | None:
        """Latitude and longitude in degrees, where they are recorded."""
        return position_of(self.site)


@dataclass(frozen=True, slots=True)
class CrewDay:
    """What a crew does on a day. absence: that falls on it; visits: those that were not cancelled."""

    crew: Crew
    on: date
    visits: Sequence[Visit]
    stops: Sequence[SiteStop]
    absence: CrewAbsence | None

    @property
    def is_working_day(self) -> bool:
        """Whether the crew goes out on such a day of the week, and is not away."""
        return self.absence is None and self.on.isoweekday() in self.crew.weekdays

    @property
    def is_timed(self) -> bool:
        """Whether every stop has its time."""
        return all(stop.begins_min is not None for stop in self.stops)

    @property
    def depot(self) -> Position | None:
        """Where it starts, in degrees."""
        return position_of(self.crew)


def position_of(row: Site | Crew) -> Position | None:
    """Latitude and longitude in degrees; None where they are not recorded."""
    if row.latitude_deg is None or row.longitude_deg is None:
        return None
    return row.latitude_deg, row.longitude_deg


def crew_day(crew: Crew, on: date) -> CrewDay:
    """The day of a crew, in a constant number of queries."""
    visits = list(crew.visits.filter(visit_on=on).exclude(status=VisitStatus.CANCELLED))
    tasks = VisitTask.objects.filter(visit__in=visits).select_related(
        "surface__site", "inspection_finding", "visit", "recommendation"
    )
    absence = crew.absences.filter(first_on__lte=on, last_on__gte=on).first()
    return CrewDay(crew, on, visits, _stops(crew, list(tasks.prefetch_related("surface__layers"))), absence)


def _stops(crew: Crew, tasks: Sequence[VisitTask]) -> tuple[SiteStop, ...]:
    by_site: dict[UUID, list[VisitTask]] = defaultdict(list)
    for task in tasks:
        by_site[task.surface.site_id].append(task)
    stops = [_stop(found) for found in by_site.values()]
    timed = sorted(
        (stop for stop in stops if stop.begins_min is not None), key=lambda stop: stop.begins_min or 0
    )
    free = [stop for stop in stops if stop.begins_min is None]
    start = next((stop.position for stop in reversed(timed) if stop.position), position_of(crew))
    ordered = [*timed, *(free[i] for i in nearest_next(start, [stop.position for stop in free]))]
    return tuple(
        SiteStop(number, stop.site, stop.tasks, stop.begins_min, stop.ends_min)
        for number, stop in enumerate(ordered, start=1)
    )


def _stop(tasks: Sequence[VisitTask]) -> SiteStop:
    ordered = sorted(tasks, key=lambda task: (task.begins_min is None, task.begins_min or 0))
    return SiteStop(0, tasks[0].surface.site, ordered, *times_of(tasks))


def times_of(tasks: Sequence[VisitTask]) -> tuple[int | None, int | None]:
    """Minutes from midnight of the first beginning and the last end that a plan gave; None where it gave none."""
    begins = [task.begins_min for task in tasks if task.begins_min is not None]
    ends = [task.ends_min for task in tasks if task.ends_min is not None]
    return min(begins, default=None), max(ends, default=None)


def places_of_day(day: PlannedDay) -> list[tuple[str, Position | None]]:
    """Name and position of each site of a planned day, in the order it is reached, each once in a row."""
    sites = {
        surface.pk: surface.site
        for surface in Surface.objects.filter(pk__in=[stop.surface for stop in day.stops]).select_related(
            "site"
        )
    }
    found: list[Site] = []
    for stop in day.stops:
        site = sites.get(stop.surface)
        if site is not None and (not found or found[-1] != site):
            found.append(site)
    return [(site.name, position_of(site)) for site in found]


def may_have_paper(user: User, crew: Crew) -> bool:
    """Whether somebody may take a crew's day on paper along: who goes out with it, and the coordinators."""
    if Crew.objects.for_user(user, Role.COORDINATOR).filter(pk=crew.pk).exists():
        return True
    return Crew.objects.for_user(user, Role.VIEWER).filter(pk=crew.pk, people=user).exists()
