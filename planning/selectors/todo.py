"""What needs doing in a firm, as plain data."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, QuerySet

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from maintenance.models import Forecast, Recommendation
from maintenance.selectors.records import state_counts
from planning.calc.vocabulary import VisitStatus
from planning.models import Visit, VisitTask
from planning.selectors.due_work import DueWork, due_work
from qa.models import InspectionFinding, Surface

SOON_DAYS = 30


@dataclass(frozen=True, slots=True)
class ToDo:
    """What needs doing, by how pressing it is, and how the surfaces stand.

    built: what is due because it was built or agreed, what has been due for longest first.
    findings: what inspections found that is neither corrected nor on a visit, the most pressing first.
    today: where most of the surfaces lie. Whether advice is late is told by the date at its own site, as on the
    surface's page.
    """

    today: date
    built: Sequence[DueWork]
    findings: Sequence[InspectionFinding]
    late: Sequence[Recommendation]
    soon: Sequence[Recommendation]
    later: Sequence[Recommendation]
    visits: Sequence[Visit]
    states: Sequence[tuple[str, str, int]]
    surfaces: int
    failing: Sequence[Forecast]

    @property
    def is_pressing(self) -> bool:
        """Whether anything is due now or soon."""
        return bool(self.late or self.soon)


def to_do(user: User, organisation: Organisation, at: datetime) -> ToDo:
    """The first page of a firm at an instant, in a constant number of queries."""
    open_rows = list(
        Recommendation.objects.for_user(user, Role.VIEWER)
        .of_organisation(organisation)
        .open()
        .filter(surface__removed_on=None)
        .select_related("surface__site", "surface__forecast")
        .defer(f"surface__forecast__{Forecast.LEAN}")
    )
    coming = Visit.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    surfaces = Surface.objects.for_user(user, Role.VIEWER).of_organisation(organisation).in_service()
    forecasts = Forecast.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    stand = list(surfaces.values_list("forecast__surface_state", "site__time_zone"))
    today = usual_date((zone for _, zone in stand), at)
    ahead = [(row, (row.due_on - row.surface.site.today(at)).days) for row in open_rows]
    return ToDo(
        today=today,
        built=due_work(user, organisation, at),
        findings=list(unplanned_findings(user, organisation)),
        late=[row for row, days in ahead if days <= 0],
        soon=[row for row, days in ahead if 0 < days <= SOON_DAYS],
        later=[row for row, days in ahead if days > SOON_DAYS],
        visits=list(
            coming.filter(status=VisitStatus.SCHEDULED, visit_on__lte=today + timedelta(days=14))
            .select_related("crew")
            .prefetch_related("tasks__surface__site", "tasks__inspection_finding")
        ),
        states=state_counts(state for state, _ in stand),
        surfaces=len(stand),
        failing=list(forecasts.exclude(error="").select_related("surface__site").defer(Forecast.LEAN)[:5]),
    )


def unplanned_findings(user: User, organisation: Organisation) -> QuerySet[InspectionFinding]:
    """What inspections of surfaces in service found, about which nothing was done or planned."""
    rows = InspectionFinding.objects.for_user(user, Role.VIEWER).of_organisation(organisation).to_do()
    ahead = VisitTask.objects.filter(
        inspection_finding=OuterRef("pk"), done_at=None, visit__status=VisitStatus.SCHEDULED
    )
    rows = rows.filter(inspection__surface__removed_on=None).exclude(Exists(ahead))
    return rows.select_related("inspection__surface__site").order_by("due_on", "created_at")


def usual_date(time_zones: Iterable[str], at: datetime) -> date:
    """The calendar date in the most frequent of the time zones, in UTC without any."""
    usual = min(
        Counter(time_zones).items(), key=lambda counted: (-counted[1], counted[0]), default=("UTC", 0)
    )
    return at.astimezone(ZoneInfo(usual[0])).date()
