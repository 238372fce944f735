"""What stands on a day that turned out unworkable, and when the same crews could do it."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from core.calc.paving import CleaningMethod
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import workable_on
from maintenance.selectors.care import climate_of
from planning.calc.postponing import AHEAD_DAYS, CrewCalendar, Outing, first_days
from planning.calc.vocabulary import Moment, VisitStatus
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

    Five queries for any number of crews, and two more where rests are among the work. today: the date at a site.
    """
    ids = [crew.pk for crew in crews]
    span = (on, on + timedelta(days=AHEAD_DAYS))
    visits = Visit.objects.filter(crew__in=ids, status=VisitStatus.SCHEDULED, visit_on__range=span)
    open_tasks = VisitTask.objects.filter(visit__in=visits, ended_at=None)
    tasks: dict[Any, list[VisitTask]] = defaultdict(list)
    for task in open_tasks.select_related("visit__crew", "surface__site"):
        tasks[task.visit_id].append(task)
    away: dict[Any, list[CrewAbsence]] = defaultdict(list)
    for absence in CrewAbsence.objects.filter(crew__in=ids, last_on__gte=on):
        away[absence.crew_id].append(absence)
    every = [task for each in tasks.values() for task in each]
    rules, minutes = _Rules(on, today, _later(every, on)), minutes_of(every, outputs)
    rows = list(visits.select_related("crew").order_by("visit_on", "pk"))
    found = []
    for crew in crews:
        own = [visit for visit in rows if visit.crew_id == crew.pk]
        calendar = _calendar(crew, away[crew.pk])
        outings = [_outing(visit, tasks[visit.pk], minutes, rules) for visit in own]
        for outing, visit in zip(outings, own, strict=True):
            if visit.visit_on > on:
                calendar.put(outing, visit.visit_on)
        moving = [outing for outing, visit in zip(outings, own, strict=True) if visit.visit_on == on]
        found += [Moving(outing.key, to) for outing, to in first_days(moving, calendar, on)]  # type: ignore[arg-type]
    return found


def _later(tasks: Sequence[VisitTask], on: date) -> dict[Any, list[VisitTask]]:
    """By surface, what stands open on later days, of any crew: tests and cleanings keep their order."""
    surfaces = {task.surface_id for task in tasks if task.visit.visit_on == on}
    rows = VisitTask.objects.filter(
        surface__in=surfaces, ended_at=None, visit__status=VisitStatus.SCHEDULED, visit__visit_on__gt=on
    )
    found: dict[Any, list[VisitTask]] = defaultdict(list)
    for task in rows.select_related("visit"):
        found[task.surface_id].append(task)
    return found


@dataclass(frozen=True, slots=True)
class _Rules:
    """On which later days a task may be done. later: open tasks of other days by surface."""

    on: date
    today: Callable[[Site], date]
    later: dict[Any, list[VisitTask]]

    def may(self, task: VisitTask, day: date) -> bool:
        """Whether a site is open on a day, its owner has the notice it asks for, season and order allow the work."""
        site = task.surface.site
        soonest = self.today(site) + timedelta(days=site.notice_days or 0)
        if day < soonest or day.isoweekday() in site.closed_weekdays:
            return False
        if any(day > self._latest(task, other) for other in self.later[task.surface_id]):
            return False
        return not task.method or workable_on(day, climate_of(task.surface), CleaningMethod(task.method))

    def _latest(self, task: VisitTask, other: VisitTask) -> date:
        """A test before goes no later than its cleaning, a cleaning no later than the test after it.

        What has to cure keeps its distance to that test, so it cannot move without it.
        """
        cleans = Action(task.action).cleans
        if cleans and other.moment == Moment.AFTER:
            return self.on if task.action == Action.REJOINT else other.visit.visit_on
        if task.moment == Moment.BEFORE and Action(other.action).cleans:
            return other.visit.visit_on
        return date.max


def _calendar(crew: Crew, away: Sequence[CrewAbsence]) -> CrewCalendar:
    start, end = crew.shift_min

    def works_on(day: date) -> bool:
        return day.isoweekday() in crew.weekdays and not any(a.first_on <= day <= a.last_on for a in away)

    return CrewCalendar(works_on, end - start)


def _outing(
    visit: Visit, tasks: Sequence[VisitTask], minutes: Mapping[UUID, int | None], rules: _Rules
) -> Outing:
    needed = sum(minutes[task.pk] or UNKNOWN_MIN for task in tasks)
    parts = frozenset((task.surface_id, task.action, task.inspection_finding_id) for task in tasks)
    return Outing(visit, needed, lambda day: all(rules.may(task, day) for task in tasks), parts)
