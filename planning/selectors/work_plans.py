"""A plan as it is kept and as it is read: routes with the rows behind them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import groupby
from uuid import UUID

import numpy as np

from core.calc.paving import CleaningMethod
from maintenance.calc.windows import season_end
from maintenance.selectors.care import climate_of
from planning.calc.curing import Cure
from planning.calc.plan_payload import LeftOut, PlannedDay, PlannedStop, WorkPlanResult
from planning.calc.routing.check import faults
from planning.calc.routing.first_free import booked
from planning.calc.routing.problem import Plan, Route, Stop, WorkOrder
from planning.calc.routing.reasons import Left, Why, reasons
from planning.calc.routing.ties import Ties, as_one
from planning.calc.routing.timetable import Timetable
from planning.selectors.work_orders import Ask
from planning.selectors.work_problem import Gathered


def result_of(gathered: Gathered, plan: Plan) -> WorkPlanResult:
    """What is kept of a plan."""
    left = [
        _left(gathered, gathered.asks[each.key], each)
        for each in reasons(gathered.problem, plan)
        if not (each.why is Why.NO_CLEANING and gathered.asks[each.key].is_made)
    ]
    left += [_left(gathered, ask, Left(ask.key, Why.UNDECIDED, 0)) for ask in gathered.undecided]
    left.sort(key=lambda each: (-each.worth, each.key))
    minutes, cost = _alone(gathered, plan)
    days = tuple(planned_day(gathered, route) for route in plan.routes)
    diary = booked(gathered.problem, plan)
    return WorkPlanResult(days, tuple(left), minutes, cost, gathered.drives.without_place, diary)


def planned_day(gathered: Gathered, route: Route) -> PlannedDay:
    """A route as it is kept."""
    places = [gathered.problem.by_key[stop.key].place for stop in route.stops]
    depot = gathered.problem.crews[route.crew].depot
    way = np.asarray([depot, *places, depot])
    here, there = way[:-1], way[1:]
    return PlannedDay(
        gathered.crews[route.crew].pk,
        gathered.date_of(route.day),
        route.leaves,
        route.returns,
        gathered.problem.crews[route.crew].shifts[route.day].minutes,
        route.travel_min,
        round(float(gathered.km[here, there].sum()), 1),
        round(route.travel_cost, 2),
        tuple(_stop(gathered, route.crew, stop) for stop in route.stops),
        drives=int((here != there).sum()),
        measured=int(gathered.drives.measured[here, there].sum()),
    )


def _stop(gathered: Gathered, crew: int, stop: Stop) -> PlannedStop:
    ask, order = gathered.asks[stop.key], gathered.problem.by_key[stop.key]
    days, cure = max(1, order.whole_days), gathered.cures.get(stop.key, Cure())
    return PlannedStop(
        stop.key,
        ask.title,
        ask.surface.pk,
        str(ask.surface),
        stop.begins,
        stop.ends,
        ask.worth,
        round(gathered.work_cost[stop.key].get(crew, 0.0) / days, 2),
        cure.foot_min,
        cure.vehicles_min,
        ask.tie.cleaning if ask.tie else "",
        max(days, ask.visits),
        ask.wording,
    )


def _left(gathered: Gathered, ask: Ask, left: Left) -> LeftOut:
    ends = None
    if ask.method and left.why is not Why.UNDECIDED:
        ends = season_end(gathered.first_on, climate_of(ask.surface), CleaningMethod(ask.method))
    return LeftOut(
        ask.key,
        ask.title,
        ask.surface.pk,
        str(ask.surface),
        left.why,
        left.minutes,
        round(ask.worth, 2),
        None if left.added is None else round(left.added, 2),
        ask.method,
        None if left.first is None else gathered.date_of(left.first),
        None if left.last is None else gathered.date_of(left.last),
        left.longest_min,
        left.whole_days,
        ends[0] if ends else None,
        ends[1] if ends else "",
        ask.wording,
    )


def _alone(gathered: Gathered, plan: Plan) -> tuple[int, float]:
    """Minutes and money of driving, were each piece of work in the plan a trip of its own."""
    problem, minutes, cost = gathered.problem, 0, 0.0
    for route in plan.routes:
        depot = problem.crews[route.crew].depot
        for stop in route.stops:
            place = problem.by_key[stop.key].place
            minutes += int(problem.travel_min[depot, place] + problem.travel_min[place, depot])
            cost += problem.drive_cost(route.crew, (depot, place, depot))
    return minutes, round(cost, 2)


def together(result: WorkPlanResult, key: str) -> list[str]:
    """What moves with a piece of work: a cleaning and the tests on the same trip, in their order.

    What stands on a visit already stays there, and a test beside such a cleaning goes alone.
    """
    for day in result.days:
        stops = {stop.key: stop for stop in day.stops}
        if key in stops:
            head = stops[key].beside or key
            if head not in stops or stops[head].is_settled:
                return [key]
            mine = [stop for stop in day.stops if head in (stop.key, stop.beside)]
            return [stop.key for stop in mine if not stop.is_settled]
    return [key]


def moved(
    gathered: Gathered, result: WorkPlanResult, keys: Sequence[str], to: tuple[UUID, date]
) -> WorkPlanResult | None:
    """The plan with work that goes together on another crew's day, where it adds least.

    keys: of work that is still to be planned. The day it leaves and the one it joins are timed anew; all others stay.
    None where it does not fit there, or would stand on the wrong side of other work, or on a surface that is closed.
    """
    orders = [gathered.problem.by_key[each] for each in keys]
    changed = {to} | {(day.crew, day.on) for day in result.days if any(s.key in keys for s in day.stops)}
    table, trips = Timetable(gathered.problem), dict[str, Sequence[WorkOrder]]()
    laid = [_lay(gathered, table, trips, d, keys) for d in result.days if (d.crew, d.on) in changed]
    row = table.row_of.get(_place_of(gathered, *to))
    if any(order.whole_days for order in orders) or row is None or not all(laid):
        return None
    if not _keeps_sides(gathered, result, keys, to) or not table.squeeze(_as_trip(orders, trips), row):
        return None
    _take_apart(table, trips)
    kept = [day for day in result.days if (day.crew, day.on) not in changed]
    days = [*kept, *(planned_day(gathered, route) for route in table.plan().routes)]
    place = {crew.pk: i for i, crew in enumerate(gathered.crews)}
    days.sort(key=lambda day: (day.on, place.get(day.crew, -1)))
    left = tuple(each for each in result.left if each.key not in keys)
    return replace(result, days=tuple(days), left=left)


def objections(gathered: Gathered, before: WorkPlanResult, after: WorkPlanResult) -> list[str]:
    """What the checker finds in a changed plan and did not find before, when facts had changed since it was made."""
    known = set(faults(gathered.problem, _plan_of(gathered, before)))
    return [fault for fault in faults(gathered.problem, _plan_of(gathered, after)) if fault not in known]


def _plan_of(gathered: Gathered, result: WorkPlanResult) -> Plan:
    """A kept plan as the checker takes it, without what is not to be planned any more."""
    routes = [route for day in result.days if (route := _route_of(gathered, day)) is not None]
    done = {stop.key for route in routes for stop in route.stops}
    left = tuple(order.key for order in gathered.problem.orders if order.key not in done)
    return Plan(tuple(routes), left)


def _route_of(gathered: Gathered, day: PlannedDay) -> Route | None:
    problem, (crew, on) = gathered.problem, _place_of(gathered, day.crew, day.on)
    if crew < 0:
        return None
    stops = tuple(Stop(s.key, s.begins, s.ends) for s in day.stops if s.key in problem.by_key)
    depot = problem.crews[crew].depot
    way = (depot, *(problem.by_key[stop.key].place for stop in stops), depot)
    return Route(crew, on, stops, day.leaves, day.returns, day.travel_min, problem.drive_cost(crew, way))


def _as_trip(orders: Sequence[WorkOrder], trips: dict[str, Sequence[WorkOrder]]) -> WorkOrder:
    """Orders as one, which is noted, so that nothing comes between them."""
    head = next((order for order in orders if order.tie is None), orders[0])
    whole = as_one(head, orders)
    trips[whole.key] = orders
    return whole


def _take_apart(table: Timetable, trips: Mapping[str, Sequence[WorkOrder]]) -> None:
    """Orders that were laid as one stand one after another."""
    days = [[part for each in day.orders for part in trips.get(each.key, [each])] for day in table.days]
    table.replace(range(len(days)), days)


def _keeps_sides(
    gathered: Gathered, result: WorkPlanResult, keys: Sequence[str], to: tuple[UUID, date]
) -> bool:
    """Whether work beside a cleaning still stands on its side of it, and off a surface that cures."""
    ties, known = Ties(gathered.problem), gathered.problem.by_key
    done = ties.settled(order for order in gathered.problem.orders if order.key not in keys)
    for day in result.days:
        crew, on = _place_of(gathered, day.crew, day.on)
        for stop in day.stops:
            if stop.key in known and stop.key not in keys and crew >= 0:
                done[stop.key] = ties.placed(known[stop.key], crew, [on])
    on = _place_of(gathered, *to)[1]
    heads = [known[key] for key in keys if known[key].tie is None or len(keys) == 1]
    return all(on in ties.open_days(order, done) for order in heads)


def _place_of(gathered: Gathered, crew: UUID, on: date) -> tuple[int, int]:
    index = next((i for i, row in enumerate(gathered.crews) if row.pk == crew), -1)
    return index, (on - gathered.first_on) // timedelta(days=1)


def _lay(
    gathered: Gathered,
    table: Timetable,
    trips: dict[str, Sequence[WorkOrder]],
    day: PlannedDay,
    without: Sequence[str],
) -> bool:
    """Lay out a day as it is kept, a cleaning and the tests beside it as one.

    False where some of its work is not to be planned any more, or the crew has no time for it.
    """
    row = table.row_of.get(_place_of(gathered, day.crew, day.on))
    known = gathered.problem.by_key
    stops = [stop for stop in day.stops if stop.key not in without]
    if row is None or any(stop.key not in known for stop in stops):
        return False
    orders = []
    for head, same in groupby(stops, lambda stop: stop.beside or stop.key):
        parts = [known[stop.key] for stop in same]
        is_trip = len(parts) > 1 and any(part.key == head for part in parts)
        orders += [_as_trip(parts, trips)] if is_trip else parts
    return table.lay(row, orders)
