"""What needs doing in a firm, as plain data."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from maintenance.models import Forecast, Recommendation
from maintenance.selectors.records import state_counts
from planning.calc.vocabulary import VisitStatus
from planning.models import Visit
from qa.models import Surface

SOON_DAYS = 30


@dataclass(frozen=True, slots=True)
class ToDo:
    """What needs doing, by how pressing it is, and how the surfaces stand."""

    today: date
    late: Sequence[Recommendation]
    soon: Sequence[Recommendation]
    later: Sequence[Recommendation]
    visits: Sequence[Visit]
    states: Sequence[tuple[str, str, int]]
    surfaces: int
    failing: Sequence[Forecast]


def to_do(user: User, organisation: Organisation, today: date) -> ToDo:
    """The first page of a firm, in a constant number of queries."""
    open_rows = list(
        Recommendation.objects.for_user(user, Role.VIEWER)
        .of_organisation(organisation)
        .open()
        .filter(surface__removed_on=None)
        .select_related("surface__site", "surface__forecast")
    )
    coming = Visit.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    surfaces = Surface.objects.for_user(user, Role.VIEWER).of_organisation(organisation).in_service()
    forecasts = Forecast.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    soon = today + timedelta(days=SOON_DAYS)
    return ToDo(
        today=today,
        late=[row for row in open_rows if row.due_on <= today],
        soon=[row for row in open_rows if today < row.due_on <= soon],
        later=[row for row in open_rows if row.due_on > soon],
        visits=list(
            coming.filter(status=VisitStatus.SCHEDULED, visit_on__lte=today + timedelta(days=14))
            .select_related("crew")
            .prefetch_related("tasks__surface__site")
        ),
        states=state_counts(surfaces.values_list("forecast__surface_state", flat=True)),
        surfaces=surfaces.count(),
        failing=list(forecasts.exclude(error="").select_related("surface__site")[:5]),
    )
