"""Why an order found no place in a plan: one finding each, the most binding first, as plain data for words."""

from dataclasses import dataclass

import numpy as np

from core.calc.choices import TextChoice
from planning.calc.routing.problem import Plan, Problem, WorkOrder
from planning.calc.routing.several_days import blocks_of
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
    OVERFULL = "overfull", "It is settled for a day that is too full for it"
    UNDECIDED = "undecided", "A person has to decide on it first"


@dataclass(frozen=True, slots=True)
class Left:
    """An order that was left out. minutes: of work, the least by any crew; drive: money of driving it would add."""

    key: str
    why: Why
    minutes: int
    drive: float | None = None


def reasons(problem: Problem, plan: Plan) -> list[Left]:
    """Why each order of `plan.left` is there."""
    if not plan.left:
        return []
    used = {(route.crew, route.day) for route in plan.routes}
    empty, taken = Timetable(problem), Timetable(problem)
    for route in plan.routes:
        row = taken.row_of[route.crew, route.day]
        orders = [problem.by_key[stop.key] for stop in route.stops]
        if not any(order.whole_days for order in orders):
            taken.replace([row], [orders])
    whole = {(r.crew, r.day) for r in plan.routes if any(problem.by_key[s.key].whole_days for s in r.stops)}
    return [_why(problem, problem.by_key[key], empty, taken, whole & used) for key in plan.left]


def _why(
    problem: Problem, order: WorkOrder, empty: Timetable, taken: Timetable, whole: set[tuple[int, int]]
) -> Left:
    minutes = min(order.minutes.values(), default=0)
    if order.fixed is not None:
        works = order.fixed[1] in problem.crews[order.fixed[0]].shifts
        return Left(order.key, Why.OVERFULL if works else Why.DAY_OFF, minutes)
    if not order.minutes:
        return Left(order.key, Why.NO_CREW, 0)
    if not any(day in problem.crews[crew].shifts for crew in order.minutes for day in order.days):
        return Left(order.key, Why.CREW_AWAY, minutes)
    if order.whole_days:
        placed = blocks_of(problem, order)
        return Left(order.key, Why.TAKEN if placed else Why.DAYS_IN_A_ROW, minutes)
    alone = empty.best_gap(order)
    if alone is None:
        return Left(order.key, Why.TOO_LONG, minutes)
    rows, each = taken.open_to(order)
    free = np.array([(taken.days[row].crew, taken.days[row].day) not in whole for row in rows], dtype=bool)
    added = taken.added_cost(order, rows[free], each[free])
    if added.size and np.isfinite(added).any():
        return Left(order.key, Why.DRIVE, minutes, float(added.min()))
    return Left(order.key, Why.DRIVE if alone[0] >= order.worth else Why.TAKEN, minutes, alone[0])
