"""When somebody comes to a surface or a site, and which papers there are to take away."""

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import groupby
from uuid import UUID

from django.db.models import Min, QuerySet

from accounts.calc.audience import Audience, Matter
from accounts.models import User
from planning.calc.vocabulary import DROPPED, VisitStatus
from planning.models import VisitTask
from planning.selectors.calendar import owners_tasks
from qa.calc.rounds import Purpose
from qa.models import Site, Surface, TestRound
from reporting.calc.coming import Certificate, ComingVisit, Downloads, HandoverPaper


def visits_to_surface(surface: Surface, audience: Audience) -> tuple[ComingVisit, ...]:
    """Days on which somebody comes to a surface, from today at the site on."""
    rows = VisitTask.objects.filter(surface=surface, visit__visit_on__gte=surface.site.today())
    return _coming(rows, audience, with_surface=False)


def visits_to_site(site: Site, audience: Audience) -> tuple[ComingVisit, ...]:
    """Days on which somebody comes to a site, from today there on."""
    rows = VisitTask.objects.filter(surface__site=site, visit__visit_on__gte=site.today())
    return _coming(rows, audience, with_surface=True)


def next_visits(user: User, today: date) -> dict[UUID, date]:
    """The next day on which somebody comes to each site that a person reads for an owner."""
    rows = _still_ahead(owners_tasks(user)).filter(visit__visit_on__gte=today)
    found = rows.values("surface__site").annotate(on=Min("visit__visit_on"))
    return dict(found.values_list("surface__site", "on"))


def _still_ahead(rows: QuerySet[VisitTask]) -> QuerySet[VisitTask]:
    """Of these tasks those that a visit is still to do."""
    return rows.filter(visit__status=VisitStatus.SCHEDULED, ended_at=None).exclude(outcome__in=DROPPED)


def _coming(rows: QuerySet[VisitTask], audience: Audience, *, with_surface: bool) -> tuple[ComingVisit, ...]:
    if not audience.sees(Matter.VISITS):
        return ()
    return tuple(_visit(tasks, audience, with_surface=with_surface) for tasks in by_visit(rows))


def by_visit(rows: QuerySet[VisitTask]) -> Iterator[list[VisitTask]]:
    """Of these tasks those still to do, visit by visit, the next one first."""
    joined = _still_ahead(rows).select_related("visit__crew", "surface", "inspection_finding")
    tasks = joined.order_by("visit__visit_on", "visit", "surface__name", "pk")
    for _, found in groupby(tasks, lambda task: task.visit_id):
        yield list(found)


def _visit(tasks: list[VisitTask], audience: Audience, *, with_surface: bool) -> ComingVisit:
    visit = tasks[0].visit
    begins = [task.begins_min for task in tasks if task.begins_min is not None]
    ends = [task.ends_min for task in tasks if task.ends_min is not None]
    works = [f"{task.title}, {task.surface.name}" if with_surface else task.title for task in tasks]
    return ComingVisit(
        on=visit.visit_on,
        works=tuple(dict.fromkeys(works)),
        begins_min=min(begins, default=None),
        ends_min=max(ends, default=None),
        crew=audience.shown(Matter.CREWS, str(visit.crew), ""),
        key=audience.shown(Matter.CREWS, visit.pk, None),
    )


def downloads_of(site: Site) -> Downloads:
    """The handover record of each surface in use; of its tests the newest certificate, and the one of acceptance."""
    surfaces = [one for one in site.surfaces.all() if one.removed_on is None]
    rounds = TestRound.objects.active().filter(surface__in=surfaces, tests__isnull=False).distinct()
    ordered = rounds.select_related("surface").order_by("surface__name", "surface", "-tested_on", "-pk")
    return Downloads(
        tuple(HandoverPaper(one.pk, one.name) for one in surfaces),
        tuple(
            _certificate(row)
            for _, found in groupby(ordered, lambda row: row.surface_id)
            for row in _telling(found)
        ),
    )


def _telling(rounds: Iterable[TestRound]) -> list[TestRound]:
    newest, *older = rounds
    accepted = next((row for row in older if row.purpose == Purpose.ACCEPTANCE), None)
    return [newest] if newest.purpose == Purpose.ACCEPTANCE or accepted is None else [newest, accepted]


def _certificate(row: TestRound) -> Certificate:
    return Certificate(row.pk, row.surface.name, row.tested_on, str(row.get_purpose_display()).lower())
