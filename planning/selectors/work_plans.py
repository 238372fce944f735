"""A plan as it is kept and as it is read: routes with the rows behind them."""

from dataclasses import replace
from datetime import date
from uuid import UUID

import numpy as np

from planning.calc.plan_payload import LeftOut, PlannedDay, PlannedStop, WorkPlanResult
from planning.calc.routing.problem import Plan, Route
from planning.calc.routing.reasons import Why, reasons
from planning.calc.routing.timetable import Timetable
from planning.selectors.work_orders import Ask, Gathered


def result_of(gathered: Gathered, plan: Plan) -> WorkPlanResult:
    """What is kept of a plan."""
    left = [
        _left(gathered.asks[each.key], each.why, each.minutes, each.drive)
        for each in reasons(gathered.problem, plan)
    ]
    left += [_left(ask, Why.UNDECIDED, 0, None) for ask in gathered.undecided]
    left.sort(key=lambda each: (-each.worth, each.key))
    minutes, cost = _alone(gathered, plan)
    days = tuple(planned_day(gathered, route) for route in plan.routes)
    return WorkPlanResult(days, tuple(left), minutes, cost, gathered.without_place)


def planned_day(gathered: Gathered, route: Route) -> PlannedDay:
    """A route as it is kept."""
    crew = gathered.crews[route.crew]
    places = [gathered.problem.by_key[stop.key].place for stop in route.stops]
    depot = gathered.problem.crews[route.crew].depot
    way = np.asarray([depot, *places, depot])
    stops = []
    for stop in route.stops:
        ask = gathered.asks[stop.key]
        surface = ask.surface
        stops.append(
            PlannedStop(stop.key, ask.title, surface.pk, str(surface), stop.begins, stop.ends, ask.worth)
        )
    return PlannedDay(
        crew.pk,
        gathered.date_of(route.day),
        route.leaves,
        route.returns,
        gathered.problem.crews[route.crew].shifts[route.day].minutes,
        route.travel_min,
        round(float(gathered.km[way[:-1], way[1:]].sum()), 1),
        round(route.travel_cost, 2),
        tuple(stops),
    )


def _left(ask: Ask, why: Why, minutes: int, drive: float | None) -> LeftOut:
    surface = ask.surface
    cost = None if drive is None else round(drive, 2)
    return LeftOut(ask.key, ask.title, surface.pk, str(surface), why, minutes, round(ask.worth, 2), cost)


def _alone(gathered: Gathered, plan: Plan) -> tuple[int, float]:
    """Minutes and money of driving, were each piece of work in the plan a trip of its own."""
    problem, minutes, cost = gathered.problem, 0, 0.0
    for route in plan.routes:
        depot = problem.crews[route.crew].depot
        for stop in route.stops:
            place = problem.by_key[stop.key].place
            minutes += int(problem.travel_min[depot, place] + problem.travel_min[place, depot])
            cost += float(problem.travel_cost[depot, place] + problem.travel_cost[place, depot])
    return minutes, round(cost, 2)


def moved(
    gathered: Gathered, result: WorkPlanResult, key: str, to: tuple[UUID, date]
) -> WorkPlanResult | None:
    """The plan with one piece of work on another crew's day, where it drives least; None where it does not fit there.

    The day it leaves and the one it joins are timed anew; all others stay.
    """
    order = gathered.problem.by_key[key]
    changed = {to} | {(day.crew, day.on) for day in result.days if any(s.key == key for s in day.stops)}
    table = Timetable(gathered.problem)
    laid = [_lay(gathered, table, day, key) for day in result.days if (day.crew, day.on) in changed]
    row = table.row_of.get(_place_of(gathered, *to))
    if order.whole_days or row is None or not all(laid) or not table.squeeze(order, row):
        return None
    kept = [day for day in result.days if (day.crew, day.on) not in changed]
    days = [*kept, *(planned_day(gathered, route) for route in table.plan().routes)]
    place = {crew.pk: i for i, crew in enumerate(gathered.crews)}
    days.sort(key=lambda day: (day.on, place.get(day.crew, -1)))
    left = tuple(each for each in result.left if each.key != key)
    return replace(result, days=tuple(days), left=left)


def _place_of(gathered: Gathered, crew: UUID, on: date) -> tuple[int, int]:
    index = next((i for i, row in enumerate(gathered.crews) if row.pk == crew), -1)
    return index, (on - gathered.first_on).days


def _lay(gathered: Gathered, table: Timetable, day: PlannedDay, without: str) -> bool:
    """Lay out a day as it is kept; False where some of its work is not to be planned any more, or it has no time."""
    row = table.row_of.get(_place_of(gathered, day.crew, day.on))
    known = gathered.problem.by_key
    keys = [stop.key for stop in day.stops if stop.key != without]
    if row is None or any(key not in known for key in keys):
        return False
    return table.lay(row, [known[key] for key in keys])
