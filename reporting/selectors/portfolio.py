"""The surfaces of a firm, or those that somebody reads for owners, as one page; in a constant number of queries.

Rows are read as plain columns, the curves of forecasts not at all.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from math import log
from statistics import fmean
from typing import Any, NamedTuple

from django.core.cache import cache
from django.db.models import Avg, CharField, Count, Max, Q, Sum
from django.db.models.functions import Cast, Ln
from django.utils.timezone import now
from django.utils.translation import gettext as _

from accounts.calc.audience import Audience, Matter
from accounts.calc.roles import Role
from accounts.models import Organisation, User
from core.calc.months import months_after
from core.calc.paving import TestMethod
from core.calc.translation import language
from maintenance.calc.vocabulary import WORST_FIRST, Action, RecommendationStatus, SurfaceState
from maintenance.models import AdviceRelease, CleaningEvent, Recommendation
from planning.calc.cost_months import month_of
from planning.calc.due import DueKind
from planning.models import VisitTask
from planning.selectors.cost_months import costs_of
from planning.selectors.due_work import due_work
from qa.calc.rounds import Purpose, Rate, spot_mean
from qa.models import InfiltrationTest, Site, Surface
from qa.selectors.days import usual_date
from reporting.calc.parts import StateCount
from reporting.calc.portfolio import (
    CleaningRow,
    DueCount,
    Grouping,
    Key,
    QuarterShare,
    RoundRow,
    Spread,
    SurfaceRow,
    decline_by_condition,
    decline_by_type,
    gains_by_method,
    quarter_ends,
    states_by,
    trend,
)
from reporting.calc.portfolio_snapshot import Hours, MapSite, PortfolioSnapshot, SpentYear
from reporting.calc.values import Money, sums

QUARTERS = 16  # four years
HISTORY_KEPT_S = 3600
SOON = timedelta(days=30)
MONTHS_BACK, MONTHS_AHEAD = 6, 6
TESTED = (Action.TEST.value, Action.INSPECT.value)
DUE_BUILT = (DueKind.FIRST_TEST, DueKind.GUARANTEE)
OF_ROUND = ("round_key", "surface_key", "round__tested_on", "round__purpose")
COLUMNS = (
    "key",
    "site__owner__name",
    "site_key",
    "surface_type",
    "area_m2",
    "opened_on",
    "removed_on",
    "limit_mm_h",
    "run_on_area_m2",
    "bare_soil",
    "trees",
    "winter_grit",
    "traffic",
    "forecast__surface_state",
    "forecast__decline_percent_yr",
)


@dataclass(frozen=True, slots=True)
class _Seen:
    """Rows of a firm as one of its people sees them; without a firm those of the owners that a person reads for."""

    user: User
    organisation: Organisation | None

    def rows(self, model: Any, owner_path: str) -> Any:
        """Rows of one kind."""
        if self.organisation is not None:
            return model.objects.for_user(self.user, Role.VIEWER).of_organisation(self.organisation)
        return model.objects.for_user(self.user).filter(**{f"{owner_path}__people__user": self.user})


def portfolio_snapshot(user: User, organisation: Organisation | None, by: Grouping) -> PortfolioSnapshot:
    """The page. organisation: the firm whose people read it, None for somebody of owners."""
    audience = Audience.FIRM if organisation is not None else Audience.OWNER
    seen = _Seen(user, organisation)
    sites = list(_sites(seen))
    today = usual_date((site["time_zone"] for site in sites), now())
    rows = _surfaces(seen)
    used = [row for row in rows if row.removed_on is None]
    history = _history(seen, rows, today)
    states = Counter(row.state or SurfaceState.NOT_TESTED.value for row in used)
    placed, unplaced = _map_sites(sites, used)
    return PortfolioSnapshot(
        audience=audience,
        today=today,
        surfaces=len(used),
        area_m2=sum(row.area_m2 for row in used),
        states=tuple(StateCount(state, states[state.value]) for state in WORST_FIRST if states[state.value]),
        by=by,
        groups=states_by(used, by, today),
        sites=placed,
        unplaced=unplaced,
        due=_due(seen, audience, today),
        trend=history.trend,
        **_money_and_wear(seen, audience, today, used, history),
    )


def _sites(seen: _Seen) -> Any:
    rows = seen.rows(Site, "owner").order_by("name", "pk").annotate(key=_text("pk"))
    return rows.values("pk", "key", "name", "latitude_deg", "longitude_deg", "time_zone")


def _text(column: str) -> Cast:
    """An id as the database writes it: to make an object of each takes longer than all else about a surface."""
    return Cast(column, CharField(max_length=36))


def _surfaces(seen: _Seen) -> list[SurfaceRow]:
    rows = seen.rows(Surface, "site__owner").order_by().annotate(key=_text("pk"), site_key=_text("site"))
    return [SurfaceRow._make(row) for row in rows.values_list(*COLUMNS)]


class _History(NamedTuple):
    """What rounds and cleanings of all years come to."""

    trend: list[QuarterShare]
    gains: list[Spread]


def _history(seen: _Seen, surfaces: Sequence[SurfaceRow], today: date) -> _History:
    """Of a firm it is read once an hour: it takes every round there is, and moves by the quarter."""
    if seen.organisation is None:
        return _read_history(seen, surfaces, today)
    key = f"portfolio-history-{seen.organisation.pk}-{today:%Y-%m-%d}-{language()}"
    found: _History | None = cache.get(key)
    if found is None:
        found = _read_history(seen, surfaces, today)
        cache.set(key, found, HISTORY_KEPT_S)
    return found


def _read_history(seen: _Seen, surfaces: Sequence[SurfaceRow], today: date) -> _History:
    rounds = _rounds(seen)
    cleanings = seen.rows(CleaningEvent, "surface__site__owner").active().order_by()
    rows = cleanings.values_list(_text("surface"), "cleaned_on", "method")
    return _History(
        _trend(surfaces, rounds, today), gains_by_method((CleaningRow(*row) for row in rows), rounds)
    )


def _rounds(seen: _Seen) -> list[RoundRow]:
    """Each round with the geometric mean of its spots by the ring, as rounds tell it elsewhere; a bound counts as the
    value it names, and of a spot the mean of its one or two tests.

    The database takes the mean where every spot was tested once, which is nearly always: there are several tests a
    round, and to read each of 200,000 takes seconds.
    """
    tests = seen.rows(InfiltrationTest, "round__surface__site__owner").in_active_rounds().valid()
    found = tests.filter(method=TestMethod.RING, rate_mm_h__gt=0).annotate(
        round_key=_text("round"), surface_key=_text("round__surface")
    )
    grouped = found.order_by().values(*OF_ROUND).alias(most=Max("sequence")).filter(most=1)
    once = grouped.annotate(mean=Avg(Ln("rate_mm_h"))).values_list(*OF_ROUND, "mean").iterator()
    repeated = found.order_by().filter(sequence__gt=1).values("round")
    # In the order of their ids, which decides between two of one day.
    rows = sorted([*once, *_of_repeated(found.filter(round__in=repeated))])
    return [
        RoundRow(surface, on, mean_log, purpose == Purpose.AFTER_CLEANING)
        for _, surface, on, purpose, mean_log in rows
    ]


def _of_repeated(tests: Any) -> Iterator[tuple[Any, ...]]:
    """The same columns of rounds in which a spot was tested again."""
    columns = tests.order_by("round_key", "location_id", "spot", "sequence").values_list(
        *OF_ROUND, "location_id", "spot", "rate_mm_h"
    )
    for round_, rows in groupby(columns.iterator(), lambda row: row[:4]):
        yield *round_, _mean_log(list(rows))


def _mean_log(tests: Sequence[tuple[Any, ...]]) -> float:
    """Of the tests of one round, ordered by their spot: the mean of the logarithms of its spots."""
    spots = [
        spot_mean([Rate(row[-1]) for row in same]).rate_mm_h
        for _, same in groupby(tests, lambda row: row[4:6])
    ]
    return fmean(log(rate) for rate in spots)


def _trend(surfaces: Sequence[SurfaceRow], rounds: Sequence[RoundRow], today: date) -> list[QuarterShare]:
    limits = {row.key: log(row.limit_mm_h) for row in surfaces}
    found = trend(surfaces, rounds, limits, quarter_ends(today, QUARTERS))
    return [quarter for quarter in found if quarter.surfaces]


def _map_sites(
    sites: Iterable[Mapping[str, Any]], surfaces: Iterable[SurfaceRow]
) -> tuple[tuple[MapSite, ...], tuple[str, ...]]:
    """Sites with a surface in use: those with a position as their worst surface stands, and the names of the rest."""
    rank = {state.value: number for number, state in enumerate(WORST_FIRST)}
    ranks: dict[Key, list[int]] = defaultdict(list)
    for row in surfaces:
        ranks[row.site].append(rank[row.state or SurfaceState.NOT_TESTED.value])
    placed, unplaced = [], []
    for site in sites:
        found = ranks.get(site["key"])
        if found and site["latitude_deg"] is not None and site["longitude_deg"] is not None:
            place = site["latitude_deg"], site["longitude_deg"]
            placed.append(MapSite(site["pk"], site["name"], *place, WORST_FIRST[min(found)], len(found)))
        elif found:
            unplaced.append(site["name"])
    return tuple(placed), tuple(unplaced)


def _due(seen: _Seen, audience: Audience, today: date) -> tuple[DueCount, ...]:
    """Tests and inspections ahead: as they stand, or as an owner was shown them."""
    if seen.organisation is not None and audience.sees(Matter.UNRELEASED_ADVICE):
        return _due_of_firm(seen, seen.organisation, today)
    return _due_of_owner(seen, today)


def _due_of_firm(seen: _Seen, firm: Organisation, today: date) -> tuple[DueCount, ...]:
    """Tests and inspections that are advised, and those that are due because something was built."""
    rows = seen.rows(Recommendation, "").ahead().filter(surface__removed_on=None, action__in=TESTED)
    planned = Q(status=RecommendationStatus.PLANNED)
    counted = (
        rows.order_by()
        .values("action")
        .annotate(
            late=Count("pk", filter=~planned & Q(due_on__lt=today)),
            soon=Count("pk", filter=~planned & Q(due_on__range=(today, today + SOON))),
            later=Count("pk", filter=~planned & Q(due_on__gt=today + SOON)),
            planned=Count("pk", filter=planned),
        )
    )
    by_action = {row.pop("action"): DueCount("", **row) for row in counted}
    none = DueCount("", 0, 0, 0, 0)
    advised = [
        by_action.get(action, none)._replace(name=_("{action}, advised").format(action=Action(action).label))
        for action in TESTED
    ]
    return (*advised, *_due_built(seen.user, firm, today))


def _due_built(user: User, organisation: Organisation, today: date) -> Iterable[DueCount]:
    due = [(one.kind, one.on) for one in due_work(user, organisation, now()).dues]
    for kind in DUE_BUILT:
        yield _counted(kind.label, [on for what, on in due if what is kind], today)


def _counted(name: str, days: Sequence[date], today: date, planned: int = 0) -> DueCount:
    late, soon = sum(on < today for on in days), sum(today <= on <= today + SOON for on in days)
    return DueCount(name, late, soon, len(days) - late - soon, planned)


def _due_of_owner(seen: _Seen, today: date) -> tuple[DueCount, ...]:
    """Tests and inspections that the owner was shown, by the day that was shown."""
    rows = seen.rows(AdviceRelease, "surface__site__owner").shown().select_related("recommendation")
    found = [row for row in rows if row.recommendation.action in TESTED]
    counts = []
    for action in TESTED:
        mine = [row for row in found if row.recommendation.action == action]
        ahead = [row for row in mine if row.recommendation.status != RecommendationStatus.PLANNED]
        days = [row.content.due_on for row in ahead]
        counts.append(_counted(Action(action).label, days, today, len(mine) - len(ahead)))
    return tuple(counts)


def _money_and_wear(
    seen: _Seen,
    audience: Audience,
    today: date,
    used: Sequence[SurfaceRow],
    history: "_History",
) -> dict[str, Any]:
    """The firm's cost, price and hours with what clogs or lasts; to others what they paid and were told."""
    if seen.organisation is not None and audience.sees(Matter.COSTS):
        return _for_firm(seen, seen.organisation, today, used, history)
    return _for_owner(seen, audience)


def _for_owner(seen: _Seen, audience: Audience) -> dict[str, Any]:
    """Money as the owner pays it."""
    if not audience.sees(Matter.PRICES):
        return {}
    released = seen.rows(AdviceRelease, "surface__site__owner").shown()
    contents = [row.content for row in released]
    return {
        "spent": _spent(seen),
        "ahead": sums(Money(one.cost, one.currency) for one in contents if one.cost is not None),
    }


def _spent(seen: _Seen) -> tuple[SpentYear, ...]:
    rows = seen.rows(CleaningEvent, "surface__site__owner").active().order_by()
    counted = rows.values_list("cleaned_on__year", "currency").annotate(
        number=Count("pk"), total=Sum("cost"), unpriced=Count("pk", filter=Q(cost=None))
    )
    years: dict[int, list[Any]] = defaultdict(list)
    for year, currency, number, total, unpriced in counted:
        years[year].append((currency, number, total, unpriced))
    return tuple(
        SpentYear(
            year,
            sum(number for _, number, _, _ in found),
            sums(Money(total, currency) for currency, _, total, _ in found if total),
            sum(unpriced for *_, unpriced in found),
        )
        for year, found in sorted(years.items(), reverse=True)
    )


def _for_firm(
    seen: _Seen, firm: Organisation, today: date, used: Sequence[SurfaceRow], history: "_History"
) -> dict[str, Any]:
    """Cost, price and hours, and what clogs or lasts."""
    first = months_after(month_of(today), -MONTHS_BACK)
    last = months_after(first, MONTHS_BACK + MONTHS_AHEAD) - timedelta(days=1)
    return {
        "currency": firm.currency,
        "costs": costs_of(seen.user, firm, None, first, last),
        "hours": _hours(seen, today),
        "declines": decline_by_type(used),
        "conditions": decline_by_condition(used),
        "gains": history.gains,
    }


def _hours(seen: _Seen, today: date) -> Hours:
    since = months_after(today, -12)
    tasks = seen.rows(VisitTask, "").filter(ended_at__isnull=False, visit__visit_on__range=(since, today))
    done = tasks.aggregate(minutes=Sum("taken_min"), told=Count("taken_min"), number=Count("pk"))
    ahead = seen.rows(Recommendation, "").ahead().filter(surface__removed_on=None)
    return Hours(
        done=(done["minutes"] or 0) / 60.0,
        done_tasks=done["told"],
        untold=done["number"] - done["told"],
        ahead=ahead.aggregate(hours=Sum("crew_hours"))["hours"] or 0.0,
    )
