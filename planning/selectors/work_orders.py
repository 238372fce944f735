"""Everything a plan of work rests on, gathered from rows: crews and their days, work to be done, drives."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

import numpy as np
from django.db.models import QuerySet

from accounts.models import Organisation
from core.calc.paving import CleaningMethod
from core.calc.units import UnitSystem
from maintenance.calc.costs import Terms
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import workable_on
from maintenance.models import Recommendation
from maintenance.selectors.care import climate_of
from planning.calc.routing.problem import DAY_MIN, CrewTime, Problem, Shift, WorkOrder
from planning.calc.routing.travel import minutes_of, money_of, road_km
from planning.calc.vocabulary import VisitStatus
from planning.calc.work_orders import USUAL_MIN, cleaning_min, in_days, round_min, worth_of
from planning.models import Crew, VisitTask
from planning.selectors.todo import without_plan
from qa.calc.counts import locations_needed_m2
from qa.models import InspectionFinding, Site, Surface

GUESSED_KM = 20.0  # between sites of which one has no coordinates; our judgement


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing to do, before it is known who may do it. method: of a cleaning, else empty."""

    key: str
    title: str
    surface: Surface
    action: Action
    method: str
    worth: float
    earliest: date
    fixed: tuple[UUID, date] | None = None


@dataclass(frozen=True)
class Gathered:
    """A problem for the planning run, with the rows behind its numbers.

    undecided: asks that a person has to decide first; km: (P, P)
    """

    problem: Problem
    crews: Sequence[Crew]
    first_on: date
    asks: dict[str, Ask]
    undecided: Sequence[Ask]
    km: np.ndarray
    without_place: tuple[str, ...]

    def date_of(self, day: int) -> date:
        """The date of a day of the plan."""
        return self.first_on + timedelta(days=day)


def gather(
    organisation: Organisation, terms: Mapping[CleaningMethod, Terms], first_on: date, days: int, today: date
) -> Gathered:
    """The work of a firm and the crews for it, from a day on.

    terms: of the methods the firm offers; today: where the firm is, for what is late.
    """
    crews = list(
        Crew.objects.of_organisation(organisation)
        .filter(retired=False)
        .prefetch_related("methods", "absences")
    )
    found = list(_asks(organisation, first_on, days, today))
    undecided = [ask for ask, wants_word in found if wants_word]
    asks = {ask.key: ask for ask, wants_word in found if not wants_word}
    sites = list({ask.surface.site_id: ask.surface.site for ask in asks.values()}.values())
    places = _Places(crews, sites)
    times = [_crew_time(crew, i, first_on, days) for i, crew in enumerate(crews)]
    outputs = _Outputs(terms, crews)
    orders = [_order(ask, crews, times, places, outputs, first_on, days, today) for ask in asks.values()]
    problem = Problem(times, orders, places.minutes, places.cost(crews))
    return Gathered(problem, crews, first_on, asks, undecided, places.km, places.without)


def _asks(organisation: Organisation, first_on: date, days: int, today: date) -> Iterable[tuple[Ask, bool]]:
    """What there is to do within the days, and whether a person has to decide it first."""
    last = first_on + timedelta(days=days - 1)
    for row in _advice(organisation).filter(earliest_on__lte=last):
        grounds = row.grounds
        saves = float(grounds.saves) if grounds and grounds.saves is not None else None
        worth = worth_of(saves, row.due_on, today)
        ask = Ask(
            f"advice {row.pk}", row.title, row.surface, Action(row.action), row.method, worth, row.earliest_on
        )
        yield ask, row.wants_word
    for finding in _findings(organisation):
        worth = worth_of(None, finding.due_on or today, today)
        title = f"{Action.REPAIR.label}: {finding}"
        yield Ask(f"finding {finding.pk}", title, finding.surface, Action.REPAIR, "", worth, first_on), False
    for task in _tasks(organisation, first_on, last):
        fixed = (task.visit.crew_id, task.visit.visit_on)
        yield (
            Ask(
                f"task {task.pk}",
                task.title,
                task.surface,
                Action(task.action),
                task.method,
                0.0,
                first_on,
                fixed,
            ),
            False,
        )


def _advice(organisation: Organisation) -> QuerySet[Recommendation]:
    rows = Recommendation.objects.of_organisation(organisation).open().filter(surface__removed_on=None)
    return rows.select_related("surface__site")


def _findings(organisation: Organisation) -> QuerySet[InspectionFinding]:
    return without_plan(InspectionFinding.objects.of_organisation(organisation))


def _tasks(organisation: Organisation, first_on: date, last: date) -> QuerySet[VisitTask]:
    rows = VisitTask.objects.of_organisation(organisation).filter(
        ended_at=None, visit__status=VisitStatus.SCHEDULED, visit__visit_on__range=(first_on, last)
    )
    return rows.filter(visit__crew__retired=False).select_related("visit", "surface__site")


def _crew_time(crew: Crew, depot: int, first_on: date, days: int) -> CrewTime:
    shift = Shift(*crew.shift_min)
    away = [(a.first_on, a.last_on) for a in crew.absences.all()]
    shifts = {}
    for day in range(days):
        on = first_on + timedelta(days=day)
        if on.isoweekday() in crew.weekdays and not any(a <= on <= b for a, b in away):
            shifts[day] = shift
    return CrewTime(crew.name, depot, shifts)


class _Outputs:
    """What each crew can do, and how fast."""

    def __init__(self, terms: Mapping[CleaningMethod, Terms], crews: Sequence[Crew]) -> None:
        self.firm = terms
        self.own = [{row.method: row.output_m2_h for row in crew.methods.all()} for crew in crews]

    def minutes(self, crew: int, ask: Ask) -> int | None:
        """Minutes of the work for a crew; None where it is not equipped for it, or nothing says how fast it is."""
        if ask.method:
            return self._cleaning(crew, ask)
        if ask.action is Action.TEST:
            return round_min(locations_needed_m2(ask.surface.area_m2, UnitSystem.SI))
        return USUAL_MIN.get(ask.action, USUAL_MIN[Action.INSPECT])

    def _cleaning(self, crew: int, ask: Ask) -> int | None:
        own, method = self.own[crew], CleaningMethod(ask.method)
        if own and ask.method not in own:
            return None
        output = own.get(ask.method) or (self.firm[method].output_m2_h if method in self.firm else None)
        return cleaning_min(ask.surface.area_m2, output) if output else None


class _Places:
    """Depots and sites with the drives between them. Crews come first, one place each, then sites."""

    def __init__(self, crews: Sequence[Crew], sites: Sequence[Site]) -> None:
        self.at = {site.pk: len(crews) + i for i, site in enumerate(sites)}
        points = [(crew.latitude_deg, crew.longitude_deg) for crew in crews]
        points += [(site.latitude_deg, site.longitude_deg) for site in sites]
        known = [(lat, lon) for lat, lon in points if lat is not None and lon is not None]
        middle = tuple(np.mean(known, axis=0)) if known else (0.0, 0.0)
        self.without = tuple(
            str(site) for site in sites if site.latitude_deg is None or site.longitude_deg is None
        )
        lat, lon = zip(*[p if None not in p else middle for p in points], strict=True) if points else ((), ())
        km = road_km(lat, lon)
        self.km = self._with_guesses(km, [None in p for p in points], len(crews))
        self.minutes = minutes_of(self.km)

    @staticmethod
    def _with_guesses(km: np.ndarray, unknown: Sequence[bool], crews: int) -> np.ndarray:
        """Between sites of which one has no coordinates the drive is guessed; a depot without lies in the middle."""
        guess = np.array([u and i >= crews for i, u in enumerate(unknown)], dtype=bool)
        either = guess[:, None] | guess
        found = np.where(either, GUESSED_KM, km)
        np.fill_diagonal(found, 0.0)
        return found

    def cost(self, crews: Sequence[Crew]) -> np.ndarray:
        """(P, P) money of a drive, at what crews cost on average."""
        hour = float(np.mean([float(crew.hour_cost) for crew in crews])) if crews else 0.0
        per_km = float(np.mean([float(crew.km_cost) for crew in crews])) if crews else 0.0
        return money_of(self.km, self.minutes, per_km, hour)


def _order(
    ask: Ask,
    crews: Sequence[Crew],
    times: Sequence[CrewTime],
    places: _Places,
    outputs: _Outputs,
    first_on: date,
    days: int,
    today: date,
) -> WorkOrder:
    place = places.at[ask.surface.site_id]
    minutes: dict[int, int] = {}
    whole_days = 0
    for crew in range(len(crews)):
        needed = outputs.minutes(crew, ask)
        if needed is None:
            continue
        effort = in_days(needed, Shift(*crews[crew].shift_min), int(places.minutes[times[crew].depot, place]))
        minutes[crew], whole_days = needed, max(whole_days, effort.whole_days)
    if whole_days:
        minutes = {crew: -(-needed // whole_days) for crew, needed in minutes.items()}
    opens, closes = _hours(ask.surface.site)
    fixed = None
    if ask.fixed is not None:
        index = {crew.pk: i for i, crew in enumerate(crews)}
        fixed = index[ask.fixed[0]], (ask.fixed[1] - first_on).days
    open_days = _open_days(ask, first_on, days, today)
    return WorkOrder(
        ask.key, place, minutes, open_days, ask.worth, opens, closes, 0 if fixed else whole_days, fixed
    )


def _hours(site: Site) -> tuple[int, int]:
    opens = 60 * site.works_from.hour + site.works_from.minute if site.works_from else 0
    closes = 60 * site.works_until.hour + site.works_until.minute if site.works_until else DAY_MIN
    return opens, closes


def _open_days(ask: Ask, first_on: date, days: int, today: date) -> frozenset[int]:
    """Days on which it may be done: from the earliest, not sooner than the notice, in season, when the site is open."""
    site = ask.surface.site
    soonest = max(ask.earliest, today + timedelta(days=site.notice_days or 0))
    able = []
    for day in range(days):
        on = first_on + timedelta(days=day)
        if on >= soonest and on.isoweekday() not in site.closed_weekdays and _in_season(ask, on):
            able.append(day)
    return frozenset(able)


def _in_season(ask: Ask, on: date) -> bool:
    if not ask.method:
        return True
    return workable_on(on, climate_of(ask.surface), CleaningMethod(ask.method))
