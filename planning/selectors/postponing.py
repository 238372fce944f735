"""What stands on a day that turned out unworkable, and when the same crews could do it."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from accounts.models import Organisation
from core.calc.paving import CleaningMethod
from maintenance.calc.windows import workable_on
from maintenance.selectors.care import climate_of
from planning.calc.postponing import AHEAD_DAYS, CrewCalendar, Outing, first_days
from planning.calc.vocabulary import VisitStatus
from planning.models import Crew, CrewAbsence, Visit, VisitTask
from planning.selectors.outputs import Outputs, minutes_of
from qa.models import Site

UNKNOWN_MIN = 120  # of work of which nothing says how long it takes; our judgement


@dataclass(frozen=True, slots=True)
class Moving:
    """A visit of an unworkable day. to: when the crew can do what is open of it; None where no day was found."""

    visit: Visit
    to: date | None

    @property
    def key(self) -> str:
        """Names visit and day in a form, so that another proposal is told from this one."""
        return f"{self.visit.pk} {self.to or ''}"


def movings(crews: Sequence[Crew], on: date, outputs: Outputs, today: Callable[[Site], date]) -> list[Moving]:
    """For each visit of these crews on a day the first day after it that takes its open work, by crew.

    Seven queries for any number of crews, and two more where rests are among the work. today: the date at a site.
    """
    ids = [crew.pk for crew in crews]
    span = (on, on + timedelta(days=AHEAD_DAYS))
    visits = Visit.objects.filter(crew__in=ids, status=VisitStatus.SCHEDULED, visit_on__range=span)
    open_tasks = VisitTask.objects.filter(visit__in=visits, ended_at=None)
    rows = list(open_tasks.select_related("visit__crew", "surface__site"))
    minutes = minutes_of(rows, outputs)
    tasks: dict[Any, list[VisitTask]] = defaultdict(list)
    for task in rows:
        tasks[task.visit_id].append(task)
    away: dict[Any, list[CrewAbsence]] = defaultdict(list)
    for absence in CrewAbsence.objects.filter(crew__in=ids, last_on__gte=on):
        away[absence.crew_id].append(absence)
    ordered = list(visits.select_related("crew").order_by("visit_on", "pk"))
    found = []
    for crew in crews:
        own = [visit for visit in ordered if visit.crew_id == crew.pk]
        calendar = _calendar(crew, away[crew.pk])
        for visit in own:
            if visit.visit_on > on:
                calendar.put(_outing(visit, tasks[visit.pk], minutes, today), visit.visit_on)
        outings = [_outing(visit, tasks[visit.pk], minutes, today) for visit in own if visit.visit_on == on]
        found += [Moving(outing.key, to) for outing, to in first_days(outings, calendar, on)]  # type: ignore[arg-type]
    return found


def crews_of_day(organisation: Organisation) -> list[Crew]:
    """Crews that may have been prevented."""
    return list(Crew.objects.of_organisation(organisation).filter(retired=False))


def _calendar(crew: Crew, away: Sequence[CrewAbsence]) -> CrewCalendar:
    start, end = crew.shift_min

    def works_on(day: date) -> bool:
        return day.isoweekday() in crew.weekdays and not any(a.first_on <= day <= a.last_on for a in away)

    return CrewCalendar(works_on, end - start)


def _outing(
    visit: Visit,
    tasks: Sequence[VisitTask],
    minutes: Mapping[UUID, int | None],
    today: Callable[[Site], date],
) -> Outing:
    needed = sum(minutes[task.pk] or UNKNOWN_MIN for task in tasks)
    parts = frozenset((task.surface_id, task.action, task.inspection_finding_id) for task in tasks)

    def may_go_on(day: date) -> bool:
        return all(_may(task, day, today(task.surface.site)) for task in tasks)

    return Outing(visit, needed, may_go_on, parts)


def _may(task: VisitTask, day: date, today: date) -> bool:
    """Whether a site is open on a day, its owner has the notice it asks for, and the season allows the work."""
    site = task.surface.site
    soonest = today + timedelta(days=site.notice_days or 0)
    if day < soonest or day.isoweekday() in site.closed_weekdays:
        return False
    return not task.method or workable_on(day, climate_of(task.surface), CleaningMethod(task.method))
