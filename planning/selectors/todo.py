"""What needs doing in a firm, as plain data."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from core.calc.jobs import JobState
from maintenance.models import Forecast
from maintenance.selectors.records import counted_together, state_counts
from planning.calc.vocabulary import VisitStatus
from planning.models import Visit, VisitTask
from planning.selectors.due_work import DueWork, due_work
from planning.selectors.work import Asked, Work, work
from qa.models import InspectionFinding, Surface
from qa.models.inspections import FindingQuerySet
from qa.selectors.days import usual_date

USUAL = Asked()
NOT_DONE = [
    state.value for state in JobState if state is not JobState.DONE
]  # what has an error is among them
SHOWN = 12  # of what is due by construction, of findings, and of what visits left to do


@dataclass(frozen=True, slots=True)
class ToDo:
    """What needs doing, what waiting costs most first, and how the surfaces stand.

    built: what is due because it was built or agreed, what has been due for longest first.
    left_over: tasks of visits of which something is left to do.
    findings: what inspections found that is neither corrected nor on a visit, the most pressing first.
    Of both as many as the page shows, and how many there are; the others are on a page of their own.
    today: where most of the surfaces lie. Whether advice is late is told by the date at its own site, as on the
    surface's page.
    """

    today: date
    built: Sequence[DueWork]
    built_count: int
    findings: Sequence[InspectionFinding]
    findings_count: int
    left_over: Sequence[VisitTask]
    left_count: int
    work: Work
    visits: Sequence[Visit]
    states: Sequence[tuple[str, str, int]]
    surfaces: int
    failing: Sequence[Forecast]


def to_do(
    user: User, organisation: Organisation, at: datetime, asked: Asked = USUAL, page: str | int = 1
) -> ToDo:
    """The first page of a firm at an instant, in a constant number of queries."""
    coming = Visit.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    surfaces = Surface.objects.for_user(user, Role.VIEWER).of_organisation(organisation).in_service()
    forecasts = Forecast.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    stand, zones = counted_together(surfaces)
    today = usual_date(zones, at)
    left, left_count = _first(left_over(user, organisation))
    findings, findings_count = _first(unplanned_findings(user, organisation))
    built = due_work(user, organisation, at)
    failing = forecasts.filter(pk__in=_failing()).select_related("surface__site").defer(*Forecast.bulky())
    return ToDo(
        today=today,
        built=built[:SHOWN],
        built_count=len(built),
        findings=findings,
        findings_count=findings_count,
        left_over=left,
        left_count=left_count,
        work=work(user, organisation, asked, page),
        visits=list(
            coming.filter(status=VisitStatus.SCHEDULED, visit_on__lte=today + timedelta(days=14))
            .select_related("crew")
            .prefetch_related("tasks__surface__site", "tasks__inspection_finding")
        ),
        states=state_counts(stand),
        surfaces=sum(stand.values()),
        failing=list(failing[:5]),
    )


def _first(rows: QuerySet[Any]) -> tuple[list[Any], int]:
    """As many as the page shows, and how many there are: only where there are more they are counted."""
    found = list(rows[: SHOWN + 1])
    return found[:SHOWN], rows.count() if len(found) > SHOWN else len(found)


def _failing() -> QuerySet[Forecast, Any]:
    """Those of every firm: few, so that they are sought first, and not each surface's forecast."""
    return Forecast.objects.filter(state__in=NOT_DONE).exclude(error="").order_by().values("pk")


def unplanned_findings(user: User, organisation: Organisation) -> QuerySet[InspectionFinding]:
    """What inspections of surfaces in service found, about which nothing was done or planned."""
    return without_plan(InspectionFinding.objects.for_user(user, Role.VIEWER).of_organisation(organisation))


def left_over(user: User, organisation: Organisation) -> QuerySet[VisitTask]:
    """Tasks added by hand of which something is left to do, the oldest first."""
    tasks = VisitTask.objects.for_user(user, Role.VIEWER).of_organisation(organisation).left_over()
    return tasks.select_related("visit__crew", "surface__site").order_by("ended_at")


def without_plan(rows: FindingQuerySet) -> QuerySet[InspectionFinding]:
    """Of these findings those of surfaces in service about which nothing was done or planned, the first due first."""
    ahead = VisitTask.objects.filter(
        inspection_finding=OuterRef("pk"), ended_at=None, visit__status=VisitStatus.SCHEDULED
    )
    found = rows.to_do().filter(inspection__surface__removed_on=None).exclude(Exists(ahead))
    return found.select_related("inspection__surface__site").order_by("due_on", "created_at")
