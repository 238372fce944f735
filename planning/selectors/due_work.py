"""Work that is due because it was built or agreed, in a constant number of queries."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cache
from itertools import chain
from typing import Any, NamedTuple, overload
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q, Subquery

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from core.calc.months import months_after
from core.calc.paving import CleaningMethod
from maintenance.calc.vocabulary import Action
from maintenance.models import CleaningEvent, Recommendation
from planning.calc import due
from planning.calc.due import HOURS, Due, DueKind
from planning.calc.terms import notice_day
from planning.calc.vocabulary import VisitStatus
from planning.models import Agreement, VisitTask
from qa.calc.check_model import Stage
from qa.calc.check_progress import LEFT_OUT, Outcome
from qa.calc.guarantee import guarantee_end
from qa.models import CheckEntry, ConstructionCheck, InfiltrationTest, InspectionFinding, Site, Surface

FILLING = (CleaningMethod.JOINT_REFILL.value, CleaningMethod.RELAY.value)
FILLS_JOINTS = Q(method__in=FILLING) | Q(material_in_kg__gt=0) | ~Q(material_in="")  # of a cleaning
LAID = (Stage.SURFACE.value, Stage.JOINTS.value, Stage.BEDDING.value)
SHOWN = ("name", "site__name", "site__time_zone")  # of a surface that has something due: it has sixty columns
SETTLING = (Outcome.PASSED.value, *(outcome.value for outcome in LEFT_OUT))


@dataclass(frozen=True, slots=True)
class DueWork:
    """Something due, where (a Surface or a Site), and the row whose page shows it.

    today: the date at its site; planned_on: the day of the visit that it is on, None where it is on none.
    """

    due: Due
    place: Any
    row: Any
    today: date
    planned_on: date | None = None

    @property
    def is_late(self) -> bool:
        """Whether its day has come, and no visit is to do it."""
        return self.due.on <= self.today and self.planned_on is None

    @property
    def is_for_planners(self) -> bool:
        """Whether it is a matter of those who plan."""
        return self.due.kind is DueKind.NOTICE


@dataclass(frozen=True, slots=True)
class _Seen:
    """Rows of a firm at an instant, as one person may see them, or all of them for the firm's own computing."""

    user: User | None
    organisation: Organisation
    at: datetime

    def rows(self, model: Any) -> Any:
        """Rows of one kind."""
        seen = model.objects.for_user(self.user, Role.VIEWER) if self.user else model.objects.all()
        return seen.of_organisation(self.organisation)

    def today(self, site: Site) -> date:
        return site.today(self.at)


class DueList(Sequence[DueWork]):
    """All of it, what has been due for longest first. Of hundreds of surfaces only those of a slice are read."""

    def __init__(self, found: Iterable[DueWork]) -> None:
        self._found = sorted(found, key=lambda work: (work.due.on, str(work.place)))

    def __len__(self) -> int:
        return len(self._found)

    @overload
    def __getitem__(self, which: int) -> DueWork: ...
    @overload
    def __getitem__(self, which: slice) -> list[DueWork]: ...
    def __getitem__(self, which: int | slice) -> DueWork | list[DueWork]:
        return _read(self._found[which]) if isinstance(which, slice) else _read([self._found[which]])[0]

    def __iter__(self) -> Iterator[DueWork]:
        return iter(_read(self._found))

    @property
    def dues(self) -> list[Due]:
        """What is due and when, without where."""
        return [work.due for work in self._found]


def due_work(user: User, organisation: Organisation, at: datetime) -> DueList:
    """All that the person may see of it, in a constant number of queries."""
    seen = _Seen(user, organisation, at)
    kinds: Iterable[Callable[[_Seen], Iterator[DueWork]]] = (_hold_points, _cures, _of_glimpses, _notices)
    return DueList(chain.from_iterable(find(seen) for find in kinds))


def _read(found: Sequence[DueWork]) -> list[DueWork]:
    keys = {work.place.pk for work in found if isinstance(work.place, _Glimpse)}
    rows = Surface.objects.filter(pk__in=keys).select_related("site").only(*SHOWN) if keys else ()
    read = {row.pk: row for row in rows}
    return [
        replace(work, place=read[work.place.pk], row=read[work.place.pk])
        if isinstance(work.place, _Glimpse)
        else work
        for work in found
        if not isinstance(work.place, _Glimpse) or work.place.pk in read  # else it was removed just now
    ]


def work_for_crews(organisation: Organisation, at: datetime) -> list[DueWork]:
    """What of it crews go out for and no visit is to do yet, in a constant number of queries."""
    seen = _Seen(None, organisation, at)
    surfaces = _with_last_days(_with_guarantee_or_young(_in_service(seen), at)).select_related("site")
    found = _of_surfaces(((surface, seen.today(surface.site)) for surface in surfaces), seen)
    return [work for work in found if work.due.kind.work and work.planned_on is None]


def _hold_points(seen: _Seen) -> Iterator[DueWork]:
    again = CheckEntry.objects.active().filter(rechecks=OuterRef("pk"))
    waived = CheckEntry.objects.active().filter(
        construction_check=OuterRef("construction_check"),
        outcome__in=LEFT_OUT,
        created_at__gt=OuterRef("created_at"),
    )
    failed = (
        seen.rows(CheckEntry)
        .active()
        .filter(
            outcome=Outcome.FAILED,
            construction_check__hold_point=True,
            construction_check__record__surface__removed_on=None,
        )
    )
    rows = failed.exclude(Exists(again)).exclude(Exists(waived))
    for entry in rows.select_related("construction_check__record__surface__site"):
        surface = entry.construction_check.record.surface
        today = seen.today(surface.site)
        found = due.hold_point_due(entry.construction_check.asked, entry.done_on, surface.opened_on, today)
        yield DueWork(found, surface, entry, today)


def _cures(seen: _Seen) -> Iterator[DueWork]:
    settled = CheckEntry.objects.active().filter(construction_check=OuterRef("pk"), outcome__in=SETTLING)
    laid = CheckEntry.objects.active().filter(
        construction_check__record=OuterRef("record"),
        construction_check__stage__in=LAID,
        outcome=Outcome.PASSED,
    )
    checks = seen.rows(ConstructionCheck).filter(
        stage=Stage.CURE, unit__in=list(HOURS), least__isnull=False, record__surface__removed_on=None
    )
    last = Subquery(laid.order_by("-done_on").values("done_on")[:1])
    for check in (
        checks.exclude(Exists(settled)).annotate(laid_on=last).select_related("record__surface__site")
    ):
        surface = check.record.surface
        today = seen.today(surface.site)
        found = due.cure_due(check.asked, check.least, check.unit, check.laid_on, surface.opened_on, today)
        if found:
            yield DueWork(found, surface, check, today)


class _Glimpse(NamedTuple):
    """Of a surface what tells whether something is due at it: a model of sixty columns is slow to make."""

    pk: UUID
    name: str
    site__name: str
    site__time_zone: str
    surface_type: str
    opened_on: date
    guarantee_from: date | None
    guarantee_months: int | None
    tested_on: date | None
    filled_on: date | None
    test_advised: bool
    tests_on: date | None
    fills_on: date | None

    def __str__(self) -> str:
        return f"{self.name}, {self.site__name}"

    @property
    def guarantee_starts_on(self) -> date:
        return self.guarantee_from or self.opened_on

    @property
    def guarantee_ends_on(self) -> date | None:
        return guarantee_end(self.guarantee_starts_on, self.guarantee_months)


def _of_glimpses(seen: _Seen) -> Iterator[DueWork]:
    rows = _with_last_days(_with_guarantee_or_young(_in_service(seen), seen.at))
    glimpses = map(_Glimpse._make, rows.order_by().values_list(*_Glimpse._fields))
    today = cache(lambda zone: seen.at.astimezone(ZoneInfo(zone)).date())
    return _of_surfaces(((one, today(one.site__time_zone)) for one in glimpses), seen)


def _in_service(seen: _Seen) -> Any:
    return seen.rows(Surface).in_service()


def _of_surfaces(surfaces: Iterable[tuple[Any, date]], seen: _Seen) -> Iterator[DueWork]:
    """surfaces: rows of `_with_last_days`, or glimpses of them, each with the date there."""
    defects = _defects(seen)
    for surface, today in surfaces:
        ends = surface.guarantee_ends_on
        found = (
            _first_test(surface, today),
            due.top_up_due(surface.surface_type, surface.opened_on, surface.filled_on, today),
            due.guarantee_due(ends, surface.tested_on, _within(surface, ends, defects), today)
            if ends
            else None,
        )
        yield from (DueWork(one, surface, surface, today, _planned(one, surface)) for one in found if one)


def _planned(found: Due, surface: Any) -> date | None:
    on: date | None = surface.fills_on if found.kind is DueKind.TOP_UP else surface.tests_on
    return on


def _with_guarantee_or_young(surfaces: Any, at: datetime) -> Any:
    """Those of which anything can be due by their opening or their guarantee, so that not every surface is read."""
    today = at.date()
    tests = InfiltrationTest.objects.in_active_rounds().valid().filter(round__surface=OuterRef("pk"))
    opened = _range(today, due.FIRST_TEST_SEEN)
    wanted: Any = Q(opened_on__range=opened) & ~Exists(tests)
    settled = tuple(months_after(day, -due.TOP_UP_MONTHS) for day in _range(today, due.FIRST_TEST_SEEN))
    jointed = Q(opened_on__range=settled, surface_type__in=[kind.value for kind in due.JOINTED])
    wanted |= jointed & ~Exists(_fillings().filter(cleaned_on__gte=OuterRef("opened_on")))
    lengths = surfaces.filter(guarantee_months__isnull=False).order_by().values_list("guarantee_months")
    for (months,) in lengths.distinct():
        began = tuple(months_after(day, -months) for day in _range(today, due.GUARANTEE_SEEN))
        starts = Q(guarantee_from__range=began) | Q(guarantee_from=None, opened_on__range=began)
        wanted |= Q(guarantee_months=months) & starts
    return surfaces.filter(wanted)


def _range(today: date, about: tuple[timedelta, timedelta]) -> tuple[date, date]:
    return today + about[0], today + about[1]


def _first_test(surface: Any, today: date) -> Due | None:
    # Advice to test says the same, and can be planned: it is not said twice.
    return None if surface.tested_on or surface.test_advised else due.first_test_due(surface.opened_on, today)


def _with_last_days(surfaces: Any) -> Any:
    tests = InfiltrationTest.objects.in_active_rounds().valid().filter(round__surface=OuterRef("pk"))
    filled = _fillings()
    advised = Recommendation.objects.ahead().filter(surface=OuterRef("pk"), action=Action.TEST)
    return surfaces.annotate(
        tested_on=Subquery(tests.order_by("-round__tested_on").values("round__tested_on")[:1]),
        filled_on=Subquery(filled.order_by("-cleaned_on").values("cleaned_on")[:1]),
        test_advised=Exists(advised),
        tests_on=_day_planned(Q(action=Action.TEST)),
        fills_on=_day_planned(Q(action=Action.TOP_UP) | Q(method__in=FILLING)),
    )


def _day_planned(wanted: Q) -> Subquery:
    """The first day on which a visit is to do such a task on the surface at hand."""
    ahead = VisitTask.objects.filter(ended_at=None, visit__status=VisitStatus.SCHEDULED)
    of_surface = ahead.filter(wanted, surface=OuterRef("pk"))
    return Subquery(of_surface.order_by("visit__visit_on").values("visit__visit_on")[:1])


def _fillings() -> Any:
    """Cleanings of the surface at hand by which joints were filled."""
    return CleaningEvent.objects.active().filter(FILLS_JOINTS, surface=OuterRef("pk"))


def _defects(seen: _Seen) -> dict[Any, list[date]]:
    """The days on which defects were found, by surface; only of surfaces with a guarantee."""
    rows = seen.rows(InspectionFinding).standing().filter(inspection__surface__guarantee_months__isnull=False)
    days: dict[Any, list[date]] = defaultdict(list)
    for surface, on in rows.values_list("inspection__surface", "inspection__inspected_on"):
        days[surface].append(on)
    return days


def _within(surface: Any, ends: date, defects: dict[Any, list[date]]) -> int:
    return sum(surface.guarantee_starts_on <= on <= ends for on in defects.get(surface.pk, ()))


def _notices(seen: _Seen) -> Iterator[DueWork]:
    for agreement in seen.rows(Agreement).filter(until__isnull=False).select_related("site"):
        today = seen.today(agreement.site)
        ends = agreement.term_end(today)
        if ends is None or not agreement.promises_something:
            continue
        found = due.notice_due(ends, notice_day(ends, agreement.notice_days), agreement.renews, today)
        if found:
            yield DueWork(found, agreement.site, agreement.site, today)
