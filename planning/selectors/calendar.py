"""Visits by day, for the firm's people or for an owner's, in a constant number of queries."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from planning.calc.calendar_days import Span
from planning.calc.vocabulary import VisitStatus
from planning.models import Crew, CrewAbsence, Visit, VisitTask
from qa.models import Site


@dataclass(frozen=True, slots=True)
class Narrowed:
    """What a calendar is narrowed to; what is empty narrows nothing."""

    crew: UUID | None = None
    owner: UUID | None = None
    site: UUID | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """A visit with those of its tasks that the reader is shown. crew: None for an owner's people."""

    visit: UUID
    on: date
    status: VisitStatus
    crew: Crew | None
    tasks: Sequence[VisitTask]

    @property
    def sites(self) -> list[Site]:
        """Where it goes, each place once, as its tasks come."""
        return list({task.surface.site_id: task.surface.site for task in self.tasks}.values())


@dataclass(frozen=True, slots=True)
class CalendarRead:
    """The entries of some days. crews: whose days off are told, with their absences of these days."""

    by_day: dict[date, list[Entry]]
    crews: Sequence[Crew] = ()
    absences: dict[UUID, list[CrewAbsence]] = field(default_factory=dict)


_JOINED = ("surface__site__owner", "inspection_finding")


def calendar_of_firm(user: User, organisation: Organisation, span: Span, to: Narrowed) -> CalendarRead:
    """Every visit of a firm that has a task where it is asked for, and the days off of its crews."""
    visits = Visit.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    visits = visits.filter(visit_on__range=(span.first, span.last))
    tasks = _at(VisitTask.objects.all(), to)
    if to.crew:
        visits = visits.filter(crew=to.crew)
    if to.owner or to.site:
        visits = visits.filter(pk__in=tasks.values("visit"))
    shown = Prefetch("tasks", tasks.select_related(*_JOINED).order_by(*_IN_ORDER), "shown")
    rows = visits.select_related("crew").prefetch_related(shown).order_by("visit_on", "crew__name", "pk")
    by_day: dict[date, list[Entry]] = defaultdict(list)
    for row in rows:
        entry = Entry(row.pk, row.visit_on, VisitStatus(row.status), row.crew, row.shown)  # type: ignore[attr-defined]
        by_day[row.visit_on].append(entry)
    crews = Crew.objects.for_user(user, Role.VIEWER).of_organisation(organisation).filter(retired=False)
    if to.crew:
        crews = crews.filter(pk=to.crew)
    return CalendarRead(dict(by_day), list(crews), _away(crews, span))


_IN_ORDER = ("begins_min", "surface__site__name", "surface__name", "pk")


def _at(tasks: QuerySet[VisitTask], to: Narrowed) -> QuerySet[VisitTask]:
    for name, value in (("surface__site__owner", to.owner), ("surface__site", to.site)):
        tasks = tasks.filter(**{name: value}) if value else tasks
    return tasks


def _away(crews: QuerySet[Crew], span: Span) -> dict[UUID, list[CrewAbsence]]:
    found: dict[UUID, list[CrewAbsence]] = defaultdict(list)
    for row in CrewAbsence.objects.filter(crew__in=crews, first_on__lte=span.last, last_on__gte=span.first):
        found[row.crew_id].append(row)
    return dict(found)


def calendar_of_owner(user: User, span: Span, to: Narrowed) -> CalendarRead:
    """What is to be done at the sites a person reads for their owners; of a shared visit their own tasks alone."""
    tasks = owners_tasks(user).filter(visit__visit_on__range=(span.first, span.last))
    return CalendarRead(entries_of_owner(_at(tasks, to)))


def owners_tasks(user: User) -> QuerySet[VisitTask]:
    """Tasks at the sites that a person reads as somebody of an owner, not as somebody of the firm."""
    return VisitTask.objects.for_user(user).filter(surface__site__owner__people__user=user)


def entries_of_owner(tasks: QuerySet[VisitTask]) -> dict[date, list[Entry]]:
    """Tasks as entries by day, without the crew."""
    by_visit: dict[UUID, list[VisitTask]] = defaultdict(list)
    joined = tasks.select_related("visit", *_JOINED)
    for task in joined.order_by("visit__visit_on", "visit", *_IN_ORDER):
        by_visit[task.visit_id].append(task)
    by_day: dict[date, list[Entry]] = defaultdict(list)
    for found in by_visit.values():
        visit = found[0].visit
        by_day[visit.visit_on].append(Entry(visit.pk, visit.visit_on, VisitStatus(visit.status), None, found))
    return dict(by_day)
