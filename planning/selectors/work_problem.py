"""Everything a plan of work rests on, as numbers: crews and their days, work to be done, drives."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from uuid import UUID

from accounts.models import Organisation
from core.calc.paving import CleaningMethod, Traffic
from maintenance.calc.costs import Terms
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import workable_on
from maintenance.models import CleaningEvent
from maintenance.selectors.care import climate_of
from planning.calc.curing import Cure, cure_of, open_from
from planning.calc.routing.problem import DAY_MIN, CrewTime, Floats, Problem, Shift, WorkOrder
from planning.calc.vocabulary import TestsBeside
from planning.calc.work_orders import (
    ARRIVAL_COST,
    Effort,
    beyond_usual,
    cleaning_min,
    in_days,
    usual_min,
    work_cost,
)
from planning.models import Crew
from planning.selectors.drives import Drives, drives_between
from planning.selectors.outputs import Outputs, outputs_of, round_share_min
from planning.selectors.work_orders import Ask, Period, asks
from qa.models import Site


@dataclass(frozen=True)
class Gathered:
    """A problem for the planning run, with the rows behind its numbers.

    undecided: asks that a person has to decide first; work_cost: money of each piece of work by crew
    cures: how long each piece of work closes its surface, where it does
    """

    problem: Problem
    crews: Sequence[Crew]
    period: Period
    asks: dict[str, Ask]
    undecided: Sequence[Ask]
    drives: Drives
    work_cost: Mapping[str, Mapping[int, float]]
    cures: Mapping[str, Cure] = field(default_factory=dict)

    @property
    def first_on(self) -> date:
        """The first day of the plan."""
        return self.period.first_on

    @property
    def km(self) -> Floats:
        """(P, P) km between places."""
        return self.drives.km

    def date_of(self, day: int) -> date:
        """The date of a day of the plan."""
        return self.first_on + timedelta(days=day)


def gather(
    organisation: Organisation,
    terms: Mapping[CleaningMethod, Terms],
    period: Period,
    tests_beside: TestsBeside = TestsBeside.AFTER,
) -> Gathered:
    """The work of a firm and the crews for it. terms: of the methods the firm offers."""
    crews = list(
        Crew.objects.of_organisation(organisation)
        .filter(retired=False)
        .prefetch_related("methods", "absences")
    )
    wanted, undecided = asks(organisation, period, tests_beside)
    sites = list({ask.surface.site_id: ask.surface.site for ask in wanted}.values())
    drives = drives_between(organisation, crews, sites)
    outputs = outputs_of(organisation, terms)
    work = _Work(terms, crews, drives, period, _closed_until(organisation, terms, wanted, period), outputs)
    orders = [work.order(ask) for ask in wanted]
    times = [work.time_of(i) for i in range(len(crews))]
    problem = Problem(times, orders, drives.minutes, drives.km, ARRIVAL_COST)
    by_key = {ask.key: ask for ask in wanted}
    return Gathered(problem, crews, period, by_key, undecided, drives, work.money, work.cures)


def _closed_until(
    organisation: Organisation, terms: Mapping[CleaningMethod, Terms], wanted: Sequence[Ask], period: Period
) -> dict[UUID, date]:
    """The first day on which each surface is open again after a cleaning on record that has yet to cure."""
    cures = {method: cure_of(each, Traffic.FOOT).foot_min for method, each in terms.items()}
    curing = [method.value for method, minutes in cures.items() if minutes]
    since = period.first_on - timedelta(days=2 + max(cures.values(), default=0) // DAY_MIN)
    events = CleaningEvent.objects.active().filter(
        surface__site__organisation=organisation, method__in=curing, cleaned_on__gte=since
    )
    on_plan, found = {ask.surface.pk for ask in wanted}, dict[UUID, date]()
    for surface, method, cleaned_on in events.values_list("surface", "method", "cleaned_on"):
        if surface in on_plan:
            again = open_from(cleaned_on, cures[CleaningMethod(method)])
            found[surface] = max(again, found.get(surface, again))
    return found


class _Work:
    """Who can do what, how long it takes them and what it costs, and on which days it may be done."""

    def __init__(
        self,
        terms: Mapping[CleaningMethod, Terms],
        crews: Sequence[Crew],
        drives: Drives,
        period: Period,
        closed_until: Mapping[UUID, date],
        outputs: Outputs,
    ) -> None:
        self.firm, self.crews, self.drives = terms, crews, drives
        self.period, self.closed_until, self.outputs = period, closed_until, outputs
        self.own = [{row.method: row for row in crew.methods.all()} for crew in crews]
        self.index = {crew.pk: i for i, crew in enumerate(crews)}
        self.money: dict[str, dict[int, float]] = {}
        self.cures: dict[str, Cure] = {}

    def time_of(self, index: int) -> CrewTime:
        """When a crew works, and what its driving costs."""
        crew = self.crews[index]
        shift = Shift(*crew.shift_min)
        away = [(a.first_on, a.last_on) for a in crew.absences.all()]
        shifts = {}
        for day in range(self.period.days):
            on = self.period.first_on + timedelta(days=day)
            if on.isoweekday() in crew.weekdays and not any(a <= on <= b for a, b in away):
                shifts[day] = shift
        return CrewTime(crew.name, index, shifts, float(crew.km_cost), float(crew.hour_cost))

    def order(self, ask: Ask) -> WorkOrder:
        """A piece of work as the planning run takes it."""
        place = self.drives.at[ask.surface.site_id]
        needed = {crew: each for crew in range(len(self.crews)) if (each := self._minutes(crew, ask))}
        whole_days = max((self._effort(crew, m, place).whole_days for crew, m in needed.items()), default=0)
        fixed = None
        if ask.fixed is not None:
            fixed, whole_days = (self.index[ask.fixed[0]], (ask.fixed[1] - self.period.first_on).days), 0
        money = {crew: self._cost(crew, minutes, ask) for crew, minutes in needed.items()}
        self.money[ask.key] = money
        cure = self._cure(ask)
        if cure != Cure():
            self.cures[ask.key] = cure
        opens, closes = _hours(ask.surface.site)
        subcontracted = frozenset(i for i, crew in enumerate(self.crews) if crew.is_subcontracted)
        return WorkOrder(
            ask.key,
            place,
            {crew: -(-minutes // max(1, whole_days)) for crew, minutes in needed.items()},
            self._open_days(ask),
            ask.worth,
            opens,
            closes,
            whole_days,
            fixed,
            beyond_usual(money, subcontracted),
            str(ask.surface.pk),
            cure.foot_min,
            ask.tie,
        )

    def _effort(self, crew: int, minutes: int, place: int) -> Effort:
        return in_days(minutes, Shift(*self.crews[crew].shift_min), int(self.drives.minutes[crew, place]))

    def _minutes(self, crew: int, ask: Ask) -> int | None:
        """Minutes of the work for a crew; None where it is not equipped for it, or nothing says how fast it is."""
        if ask.method:
            return self._cleaning_min(crew, ask)
        if ask.action is Action.TEST:
            return round_share_min(ask.surface.area_m2, ask.share)
        return usual_min(ask.action, ask.surface.area_m2 * ask.share)

    def _cleaning_min(self, crew: int, ask: Ask) -> int | None:
        method = CleaningMethod(ask.method)
        output = self.outputs.get((self.crews[crew].pk, method))
        return cleaning_min(ask.surface.area_m2 * ask.share, output.m2_h) if output else None

    def _cost(self, crew: int, minutes: int, ask: Ask) -> float:
        who, row = self.crews[crew], self.own[crew].get(ask.method)
        price = row.cost_per_m2 if row and who.is_subcontracted else None
        return work_cost(minutes, who.hour_cost, price, ask.surface.area_m2 * ask.share)

    def _cure(self, ask: Ask) -> Cure:
        terms = self.firm.get(CleaningMethod(ask.method)) if ask.method and ask.ends else None
        return cure_of(terms, Traffic(ask.surface.traffic))

    def _open_days(self, ask: Ask) -> frozenset[int]:
        """Days on which it may be done: from the earliest, not sooner than the notice, in season, when the site and the
        surface are open.
        """
        site, period = ask.surface.site, self.period
        soonest = max(
            ask.earliest,
            period.today + timedelta(days=site.notice_days or 0),
            self.closed_until.get(ask.surface.pk, period.first_on),
        )
        days = ((day, period.first_on + timedelta(days=day)) for day in range(period.days))
        return frozenset(
            day
            for day, on in days
            if on >= soonest and on.isoweekday() not in site.closed_weekdays and in_season(ask, on)
        )


def _hours(site: Site) -> tuple[int, int]:
    opens = 60 * site.works_from.hour + site.works_from.minute if site.works_from else 0
    closes = 60 * site.works_until.hour + site.works_until.minute if site.works_until else DAY_MIN
    return opens, closes


def in_season(ask: Ask, on: date) -> bool:
    """Whether the work may be begun on a day by the calendar of its site."""
    if not ask.method:
        return True
    return workable_on(on, climate_of(ask.surface), CleaningMethod(ask.method))
