"""What is advised in a firm, as trips: one row a surface, or a site where one kind of visit serves several surfaces.

Ordered by what waiting costs. All of it is filtered, added up and paged in the database; only the rows of one page are
read.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import chain
from typing import Any, NamedTuple
from uuid import UUID

from django.core.paginator import Page, Paginator
from django.db.models import Count, Exists, Min, OuterRef, Prefetch, Q, QuerySet, Sum, Window

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from maintenance.calc.vocabulary import Action, RecommendationStatus, SurfaceState
from maintenance.models import AdviceRelease, Forecast, Recommendation
from planning.calc.vocabulary import ReleaseShown
from planning.selectors.quotes import with_approval

TRIPS_A_PAGE = 25
# Of what a row of the list is joined with; a surface, its site and its forecast have a hundred columns.
SHOWN = (
    "surface__name",
    "surface__site__name",
    "surface__site__time_zone",
    "surface__forecast__surface_state",
)
PIECES_SHOWN = 5  # of a trip in a list of several sites: a site of a firm may have a hundred surfaces


@dataclass(frozen=True, slots=True)
class Asked:
    """Which advice is asked for; what is empty narrows nothing. words: in the names of surface, site or owner."""

    status: str = RecommendationStatus.OPEN.value
    words: str = ""
    owner: UUID | None = None
    site: UUID | None = None
    action: str = ""
    state: str = ""
    release: str = ""

    @property
    def of_all_kinds(self) -> bool:
        """Whether a surface stands in one row alone, by its leading piece of advice."""
        return not (self.action or self.release)


@dataclass(frozen=True, slots=True)
class Trip:
    """Advice that one kind of visit to one site settles, with what else is advised at its surfaces.

    rows: with the names of surface and site and with the state, what waiting costs most first, of a list of several
    sites the first PIECES_SHOWN; count: how many there are; methods: of all of them; also: by surface
    """

    site: Any
    action: Action
    rows: Sequence[Recommendation]
    count: int
    methods: frozenset[str]
    also: Mapping[UUID, Sequence[Recommendation]]
    waiting_costs: Decimal
    cost: Decimal
    crew_hours: float
    due_on: date

    @property
    def key(self) -> str:
        """What stands for it in an address."""
        return f"{self.site.pk}:{self.action.value}"


@dataclass(frozen=True, slots=True)
class Totals:
    """Of everything asked for, not of one page."""

    surfaces: int
    pieces: int
    cost: Decimal
    crew_hours: float
    waiting_costs: Decimal


@dataclass(frozen=True, slots=True)
class Work:
    """One page of trips, and the sum of them all. page: of database rows, one a trip; changed: releases to look at."""

    page: Page[Any]
    trips: Sequence[Trip]
    totals: Totals
    changed: int


def advised(user: User, organisation: Organisation) -> QuerySet[Recommendation]:
    """Advice about surfaces in service that the person may read."""
    rows = Recommendation.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    return rows.filter(surface__removed_on=None)


def work(user: User, organisation: Organisation, asked: Asked, page: str | int = 1) -> Work:
    """One page of what is asked for, in a constant number of queries."""
    rows = narrowed(advised(user, organisation), asked)
    found = _CountedPaginator(_grouped(_leading(rows, asked)), TRIPS_A_PAGE).get_page(page)
    changed = AdviceRelease.objects.for_user(user, Role.VIEWER).of_organisation(organisation).changed()
    return Work(
        page=found,
        trips=_trips(list(found.object_list), rows, asked),
        totals=_totals(rows),
        changed=changed.count(),
    )


class _CountedPaginator(Paginator[Any]):
    """Pages of rows that carry how many there are, so that they are not grouped a second time to be counted."""

    def get_page(self, number: Any) -> Page[Any]:
        text = str(number)
        bottom = (int(text) - 1) * self.per_page if text.isdecimal() and 0 < int(text) < 10**6 else 0
        rows = list(self.object_list[bottom : bottom + self.per_page])
        if not rows or (bottom == 0 and text != "1"):
            return super().get_page(number)
        self.count = rows[0]["groups"]
        return Page(rows, bottom // self.per_page + 1, self)


LISTED = (
    RecommendationStatus.OPEN,
    RecommendationStatus.PUT_OFF,
    RecommendationStatus.PLANNED,
    RecommendationStatus.DECLINED,
)


def narrowed(rows: QuerySet[Recommendation], asked: Asked) -> QuerySet[Recommendation]:
    """The rows that are asked for."""
    rows = rows.filter(status=asked.status)
    for word in asked.words.split():
        rows = rows.filter(
            Q(surface__name__icontains=word)
            | Q(surface__site__name__icontains=word)
            | Q(surface__site__owner__name__icontains=word)
        )
    if asked.state:
        rows = rows.filter(_in_state(asked.state))
    for name, value in (
        ("surface__site__owner", asked.owner),
        ("surface__site", asked.site),
        ("action", asked.action),
    ):
        rows = rows.filter(**{name: value}) if value else rows
    return _by_release(rows, asked.release)


def _in_state(state: str) -> Q:
    found = Q(surface__forecast__surface_state=state)
    return found | Q(surface__forecast=None) if state == SurfaceState.NOT_TESTED else found


def _by_release(rows: QuerySet[Recommendation], release: str) -> QuerySet[Recommendation]:
    if not release:
        return rows
    shown = AdviceRelease.objects.standing().filter(recommendation=OuterRef("pk"))
    if release == ReleaseShown.NOT_RELEASED:
        return rows.exclude(Exists(shown))
    if release == ReleaseShown.CHANGED:
        shown = shown.filter(differs_since__isnull=False)
    return rows.filter(Exists(shown))


def _leading(rows: QuerySet[Recommendation], asked: Asked) -> QuerySet[Recommendation]:
    """Of each surface the piece by which it is listed: the one whose waiting costs most, then what is due first."""
    if not asked.of_all_kinds:
        return rows
    # Asked as "none stands before it": how many rows that leaves PostgreSQL can guess, unlike of "it is the first".
    same = Recommendation.objects.filter(surface=OuterRef("surface"), status=asked.status)
    return rows.exclude(Exists(same.filter(_STANDS_BEFORE, waiting_costs__gte=OuterRef("waiting_costs"))))


# In the order of `_ranked`, among those whose waiting costs as much or more.
_STANDS_BEFORE = (
    Q(waiting_costs__gt=OuterRef("waiting_costs"))
    | Q(due_on__lt=OuterRef("due_on"))
    | Q(due_on=OuterRef("due_on"), pk__lt=OuterRef("pk"))
)


def _grouped(rows: QuerySet[Recommendation]) -> Any:
    """One row a site and action."""
    groups = rows.values("surface__site", "action").annotate(
        waiting=Sum("waiting_costs"),
        price=Sum("cost"),
        hours=Sum("crew_hours"),
        due=Min("due_on"),
        groups=Window(Count("*")),
    )
    return groups.order_by("-waiting", "due", "surface__site", "action")


def _trips(
    groups: Sequence[dict[str, Any]], rows: QuerySet[Recommendation], asked: Asked
) -> tuple[Trip, ...]:
    """Which rows lead is told once more, from the few columns of all rows of the page's sites; those shown are read."""
    sites = [group["surface__site"] for group in groups]
    by_surface: dict[UUID, list[_Row]] = defaultdict(list)
    for row in _ranked(rows.filter(surface__site__in=sites)).values_list(*_Row._fields):
        by_surface[row[1]].append(_Row(*row))
    by_trip: dict[tuple[UUID, str], list[_Row]] = defaultdict(list)
    for found in by_surface.values():
        for one in found[:1] if asked.of_all_kinds else found:
            by_trip[one.surface__site, one.action].append(one)
    shown = None if asked.site else PIECES_SHOWN
    pieces = [by_trip[group["surface__site"], group["action"]] for group in groups]
    wanted = [one for found in pieces for one in found[:shown]]
    also = {one.surface: by_surface[one.surface][1:] for one in wanted} if asked.of_all_kinds else {}
    keys = [one.pk for one in chain(wanted, *also.values())]
    read = {row.pk: row for row in _narrow(joined(rows.filter(pk__in=keys)))}
    beside = {surface: _still(found, read) for surface, found in also.items()}
    trips = ((group, found, _still(found[:shown], read)) for group, found in zip(groups, pieces, strict=True))
    return tuple(_trip(group, found, left, beside) for group, found, left in trips if left)


class _Row(NamedTuple):
    """What tells of a row where it stands in the list."""

    pk: UUID
    surface: UUID
    surface__site: UUID
    action: str
    method: str


def _still(found: Sequence[_Row], read: Mapping[UUID, Recommendation]) -> list[Recommendation]:
    """Those that nobody dealt with between the question which they are and the one what they say."""
    return [read[one.pk] for one in found if one.pk in read]


def _ranked(rows: QuerySet[Recommendation]) -> QuerySet[Recommendation]:
    return rows.order_by("-waiting_costs", "due_on", "pk")


def joined(rows: QuerySet[Recommendation]) -> QuerySet[Recommendation]:
    """With what a row shows of them, but without the curves of the forecasts."""
    standing = Prefetch("releases", AdviceRelease.objects.standing().defer("content_json"), "shown_now")
    rows = with_approval(rows.select_related("surface__site__owner", "surface__forecast"))
    rows = rows.prefetch_related(standing)
    return _ranked(rows.defer(*Forecast.bulky("surface__forecast__")))


def _narrow(rows: QuerySet[Recommendation]) -> QuerySet[Recommendation]:
    """Of `joined` rows what the list shows."""
    own = [field.name for field in Recommendation._meta.concrete_fields]
    return rows.select_related(None).select_related("surface__site", "surface__forecast").only(*own, *SHOWN)


def _trip(group: dict[str, Any], found: Sequence[_Row], rows: Sequence[Recommendation], also: Any) -> Trip:
    return Trip(
        site=rows[0].surface.site,
        action=Action(group["action"]),
        rows=rows,
        count=len(found),
        methods=frozenset(one.method for one in found),
        also=also,
        waiting_costs=group["waiting"] or Decimal(0),
        cost=group["price"] or Decimal(0),
        crew_hours=group["hours"] or 0.0,
        due_on=group["due"],
    )


def _totals(rows: QuerySet[Recommendation]) -> Totals:
    found = rows.order_by().aggregate(
        surfaces=Count("surface", distinct=True),
        pieces=Count("pk"),
        cost=Sum("cost"),
        crew_hours=Sum("crew_hours"),
        waiting_costs=Sum("waiting_costs"),
    )
    return Totals(
        surfaces=found["surfaces"],
        pieces=found["pieces"],
        cost=found["cost"] or Decimal(0),
        crew_hours=found["crew_hours"] or 0.0,
        waiting_costs=found["waiting_costs"] or Decimal(0),
    )
