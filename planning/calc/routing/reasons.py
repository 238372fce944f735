"""Why an order found no place in a plan: one finding each, the most binding first, as plain data for words."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from core.calc.choices import TextChoice
from planning.calc.routing.problem import Plan, Problem, WorkOrder
from planning.calc.routing.several_days import blocks_of
from planning.calc.routing.ties import Placed, Ties
from planning.calc.routing.timetable import Timetable


class Why(TextChoice):
    """What kept an order out."""

    NO_CREW = "no_crew", "No crew can do it"
    CREW_AWAY = "crew_away", "No crew that can do it works on the days open to it"
    DAYS_IN_A_ROW = "days_in_a_row", "No crew that can do it has enough working days in a row"
    TOO_LONG = "too_long", "It does not fit into a day"
    DRIVE = "drive", "The drive costs more than waiting does"
    TAKEN = "taken", "The days open to it are taken by work that is worth more"
    DAY_OFF = "day_off", "It is settled for a day on which the crew does not work"
    NOT_EQUIPPED = "not_equipped", "It is settled for a crew that is not equipped for it"
    OVERFULL = "overfull", "It is settled for a day that is too full for it"
    UNDECIDED = "undecided", "A person has to decide on it first"
    NO_CLEANING = "no_cleaning", "It stands with a cleaning that found no place"
    AROUND = "around", "No day open to it lies on its side of the cleaning, with the surface open again"
    CLOSED = (
        "closed",
        "It is settled for a day on which the surface is closed, or on the wrong side of the cleaning",
    )


@dataclass(frozen=True, slots=True)
class Left:
    """An order that was left out.

    minutes: of work, the least by any crew, of one day where it takes several; added: money it would cost beside its
    worth, where that is known; first, last: days of the plan on which a crew could do it, None for no day
    longest_min: the longest time that is free for it on those days, the drive taken off
    whole_days: that it takes, 0 for work that shares its day
    """

    key: str
    why: Why
    minutes: int
    added: float | None = None
    first: int | None = None
    last: int | None = None
    longest_min: int = 0
    whole_days: int = 0


def reasons(problem: Problem, plan: Plan) -> list[Left]:
    """Why each order of `plan.left` is there."""
    if not plan.left:
        return []
    why = _Why(problem, plan)
    return [why.of(problem.by_key[key]) for key in plan.left]


class _Why:
    """A plan laid out, so that what was left can be tried on it once more."""

    def __init__(self, problem: Problem, plan: Plan) -> None:
        self.problem, self.ties = problem, Ties(problem)
        whole = {
            (route.crew, route.day)
            for route in plan.routes
            if any(problem.by_key[stop.key].whole_days for stop in route.stops)
        }
        self.empty, self.taken = Timetable(problem), Timetable(problem, whole)
        together = {tuple(p.key for p in b.parts): b.order for b in self.ties.bundles()}
        for route in plan.routes:
            if (route.crew, route.day) not in whole:
                orders = [problem.by_key[stop.key] for stop in route.stops]
                self.taken.replace([self.taken.row_of[route.crew, route.day]], [_merged(orders, together)])
        self.done = self._done(plan)

    def _done(self, plan: Plan) -> dict[str, Placed]:
        days: dict[str, list[tuple[int, int]]] = {}
        for route in plan.routes:
            for stop in route.stops:
                days.setdefault(stop.key, []).append((route.day, route.crew))
        known = self.problem.by_key
        return {
            key: self.ties.placed(known[key], at[0][1], [day for day, _ in at]) for key, at in days.items()
        }

    def of(self, order: WorkOrder) -> Left:
        """The most binding reason."""
        works = sorted(
            day for crew in order.minutes for day in order.days if day in self.problem.crews[crew].shifts
        )
        left = Left(
            order.key,
            self._settled(order) or self._whole(order, bool(works)) or Why.TAKEN,
            min(order.minutes.values(), default=0),
            first=works[0] if works else None,
            last=works[-1] if works else None,
            whole_days=order.whole_days,
        )
        if left.why is not Why.TAKEN:
            return left
        return self._of_several_days(order, left) if order.whole_days else self._of_one_day(order, left)

    def _of_several_days(self, order: WorkOrder, left: Left) -> Left:
        """Where even its cheapest crew costs more on the way than the work is worth, that is why."""
        added = min(
            order.costs.get(crew, 0.0) + order.whole_days * self.problem.there_and_back(crew, order.place)
            for crew in order.minutes
        )
        return replace(left, why=Why.DRIVE if added >= order.worth else Why.TAKEN, added=added)

    def _settled(self, order: WorkOrder) -> Why | None:
        if order.fixed is None:
            return None
        if order.fixed[1] not in self.problem.crews[order.fixed[0]].shifts:
            return Why.DAY_OFF
        if order.fixed[0] not in order.minutes:
            return Why.NOT_EQUIPPED
        return Why.OVERFULL if self.ties.open_days(order, self.done) else Why.CLOSED

    def _whole(self, order: WorkOrder, works: bool) -> Why | None:
        if not order.minutes:
            return Why.NO_CREW
        if not works:
            return Why.CREW_AWAY
        if not order.whole_days:
            return None
        if not blocks_of(self.problem, order):
            return Why.DAYS_IN_A_ROW
        return None if self.ties.open_days(order, self.done) else self._apart(order)

    def _apart(self, order: WorkOrder) -> Why:
        without = order.tie is not None and order.tie.cleaning not in self.done
        return Why.NO_CLEANING if without else Why.AROUND

    def _of_one_day(self, order: WorkOrder, left: Left) -> Left:
        alone = self.empty.best_gap(order)
        if alone is None:
            return replace(left, why=Why.TOO_LONG, longest_min=self.empty.room(order))
        days = self.ties.open_days(order, self.done)
        if not days:
            return replace(left, why=self._apart(order))
        tried = replace(order, days=days)
        left = replace(left, longest_min=self.taken.room(tried))
        added = self.taken.added_cost(tried, *self.taken.open_to(tried))
        if added.size and np.isfinite(added).any():
            return replace(left, why=Why.DRIVE, added=float(added.min()))
        return replace(left, why=Why.DRIVE if alone[0] >= order.worth else Why.TAKEN, added=alone[0])


def _merged(orders: list[WorkOrder], together: Mapping[tuple[str, ...], WorkOrder]) -> list[WorkOrder]:
    """The orders of a day, with what was done as one trip as one again, so that nothing is tried between its parts."""
    keys = [order.key for order in orders]
    for parts, whole in together.items():
        at = keys.index(parts[0]) if parts[0] in keys else len(keys)
        if tuple(keys[at : at + len(parts)]) == parts:
            keys[at : at + len(parts)] = [whole.key]
            orders[at : at + len(parts)] = [whole]
    return orders
