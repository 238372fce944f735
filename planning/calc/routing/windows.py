"""A good plan: windows of a few days solved again and again by PyVRP, each kept only where the plan gets better.

Work of several days is placed first, then everything greedily; then each window of days is taken out and solved anew
as a routing problem with prizes, a crew's day being a vehicle. Iterations limit it, never the clock: the same seed and
iterations give the same plan on any machine under any load.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pyvrp
from pyvrp.stop import MaxIterations

from planning.calc.routing.problem import Plan, Problem, WorkOrder
from planning.calc.routing.several_days import Block, place_blocks, routes_of
from planning.calc.routing.timetable import Timetable, by_worth, greedy
from planning.calc.routing.timing import Day, can_do, schedule, travel_cost

DAYS, SHIFT = 4, 2
CENTS = 100  # the solver counts in whole cents
Told = Callable[[float, float], bool]  # share done and value so far; False stops with the best so far


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to look. iterations: of the solver, a window; rounds: over all the windows, at most; seed: of its luck
    settled: share by which a round must make the plan better for another one to follow
    """

    iterations: int = 60
    rounds: int = 12
    seed: int = 0
    settled: float = 0.003


def make_plan(problem: Problem, effort: Effort = Effort(), told: Told = lambda _share, _value: True) -> Plan:
    """The best plan found. It is feasible, never worse than the greedy one, and leaves nothing that fits and pays."""
    blocks = place_blocks(problem, _day_worth(problem))
    blocked = {(block.crew, day) for block in blocks for day in block.days}
    table = greedy(problem, blocked)
    if told(0.0, _value(table, blocks)):
        _improve(table, blocks, effort, told)
    return _with_blocks(problem, table, blocks)


def _day_worth(problem: Problem) -> float:
    """What a crew's day brings where it is filled with other work: the median of the greedy days, idle ones counted."""
    if not any(order.whole_days for order in problem.orders):
        return 0.0
    table = greedy(problem)
    return float(np.median([_day_value(problem, day) for day in table.days])) if table.days else 0.0


def _day_value(problem: Problem, day: Day) -> float:
    return sum(order.worth for order in day.orders) - travel_cost(problem, day.places)


def _value(table: Timetable, blocks: Sequence[Block]) -> float:
    problem = table.problem
    routes = sum(route.travel_cost for block in blocks for route in routes_of(problem, block))
    worth = sum(block.order.worth for block in blocks)
    return worth - routes + sum(_day_value(problem, day) for day in table.days)


def _with_blocks(problem: Problem, table: Timetable, blocks: Sequence[Block]) -> Plan:
    plan = table.plan()
    routes = [*plan.routes, *(route for block in blocks for route in routes_of(problem, block))]
    placed = {block.order.key for block in blocks}
    left = tuple(key for key in plan.left if key not in placed)
    return Plan(tuple(sorted(routes, key=lambda route: (route.day, route.crew))), left)


def _improve(table: Timetable, blocks: Sequence[Block], effort: Effort, told: Told) -> None:
    days = sorted({day.day for day in table.days})
    starts = range(0, max(1, len(days) - DAYS + SHIFT), SHIFT)
    value = _value(table, blocks)
    for turn in range(effort.rounds):
        before = value
        for done, start in enumerate(starts, 1):
            _solve_window(table, frozenset(days[start : start + DAYS]), effort, turn * len(days) + start)
            table.fill(by_worth(_open_orders(table)))
            value = _value(table, blocks)
            if not told((turn + done / len(starts)) / effort.rounds, value):
                return
        if value - before <= effort.settled * abs(value):
            return


def _open_orders(table: Timetable) -> list[WorkOrder]:
    return [o for o in table.problem.orders if not o.whole_days and o.key not in table.at]


def _solve_window(table: Timetable, days: frozenset[int], effort: Effort, turn: int) -> None:
    """Take the days out, solve them with what is left over, and keep the result where it is better."""
    rows = [row for row, day in enumerate(table.days) if day.day in days]
    on_them = {order.key for row in rows for order in table.days[row].orders}
    orders = [
        order
        for order in table.problem.orders
        if order.key in on_them or (_is_open(table, order) and _has_a_day(table, order, rows))
    ]
    if not rows or not orders:
        return
    window = _Window(table, rows, orders)
    found = window.solve(MaxIterations(effort.iterations), effort.seed + turn)
    before = sum(_day_value(table.problem, table.days[row]) for row in rows)
    if found is not None and found[0] > before + 0.005:
        table.replace(rows, found[1])


def _is_open(table: Timetable, order: WorkOrder) -> bool:
    return not order.whole_days and order.fixed is None and order.key not in table.at


def _has_a_day(table: Timetable, order: WorkOrder, rows: Sequence[int]) -> bool:
    return any(can_do(order, table.days[row].crew, table.days[row].day) for row in rows)


class _Window:
    """A few days as a routing problem with prizes. A load dimension a crew and a day forbids what is not open to an
    order: it has a demand of 1 there, and that vehicle no capacity.
    """

    def __init__(self, table: Timetable, rows: Sequence[int], orders: Sequence[WorkOrder]) -> None:
        self.problem, self.rows, self.orders = table.problem, rows, orders
        self.days = [table.days[row] for row in rows]
        self.crews = sorted({day.crew for day in self.days})
        self.dates = sorted({day.day for day in self.days})
        self.depots = sorted({day.depot for day in self.days})
        self.at = {order.key: i for i, order in enumerate(orders)}

    def solve(self, stop: MaxIterations, seed: int) -> tuple[float, list[list[WorkOrder]]] | None:
        """Value and orders by row; None where the solver found nothing feasible."""
        data = self._data()
        given = self._as_it_stands(data)
        solved = pyvrp.solve(data, stop, seed=seed, collect_stats=False, initial_solution=given)
        return self._read(solved.best) if solved.best.is_feasible() else None

    def _data(self) -> pyvrp.ProblemData:
        places = [*self.depots, *(order.place for order in self.orders)]
        at = np.asarray(places)
        cost = np.rint(CENTS * self.problem.travel_cost[np.ix_(at, at)]).astype(np.int64)
        minutes = self.problem.travel_min[np.ix_(at, at)].astype(np.int64)
        kinds = self._kinds()
        first = len(self.depots)
        by_kind = []
        for crew in kinds:
            extra = [order.minutes.get(crew, 0) - self._least(order) for order in self.orders]
            with_work = minutes.copy()
            with_work[first:] += np.maximum(np.asarray(extra, dtype=np.int64), 0)[:, None]
            np.fill_diagonal(with_work, 0)
            by_kind.append(with_work)
        return pyvrp.ProblemData(
            locations=[pyvrp.Location(0, 0) for _ in places],
            clients=[self._client(first + i, order) for i, order in enumerate(self.orders)],
            depots=[pyvrp.Depot(i) for i in range(first)],
            vehicle_types=[self._vehicle(day, kinds) for day in self.days],
            distance_matrices=[cost] * len(kinds),
            duration_matrices=by_kind,
        )

    def _least(self, order: WorkOrder) -> int:
        return min(self._times(order))

    def _kinds(self) -> list[int]:
        """One crew of each kind that takes its own time for the work; those alike share a matrix."""
        seen: dict[tuple[int, ...], int] = {}
        self.kind_of = {}
        for crew in self.crews:
            times = tuple(order.minutes.get(crew, -1) for order in self.orders)
            extra = tuple(
                t - self._least(o) if t >= 0 else 0 for t, o in zip(times, self.orders, strict=True)
            )
            self.kind_of[crew] = seen.setdefault(extra, len(seen))
        first: dict[int, int] = {}
        for crew, kind in self.kind_of.items():
            first.setdefault(kind, crew)
        return [first[kind] for kind in range(len(seen))]

    def _client(self, location: int, order: WorkOrder) -> pyvrp.Client:
        minutes = self._least(order)
        fixed = order.fixed
        crews = [(fixed is not None and fixed[0] != c) or c not in order.minutes for c in self.crews]
        dates = [d not in order.days if fixed is None else d != fixed[1] for d in self.dates]
        return pyvrp.Client(
            location,
            delivery=[int(closed) for closed in (*crews, *dates)],
            service_duration=minutes,
            tw_early=order.opens,
            tw_late=max(order.opens, order.closes - max(self._times(order))),
            prize=round(CENTS * order.worth) if fixed is None else 0,
            required=fixed is not None,
        )

    def _times(self, order: WorkOrder) -> list[int]:
        return [order.minutes[crew] for crew in self.crews if crew in order.minutes]

    def _vehicle(self, day: Day, kinds: Sequence[int]) -> pyvrp.VehicleType:
        many = len(self.orders)
        crews = [0 if crew == day.crew else many for crew in self.crews]
        dates = [0 if date == day.day else many for date in self.dates]
        depot = self.depots.index(day.depot)
        return pyvrp.VehicleType(
            1,
            capacity=[*crews, *dates],
            start_depot=depot,
            end_depot=depot,
            tw_early=day.shift.start,
            tw_late=day.shift.end,
            profile=self.kind_of[day.crew],
        )

    def _as_it_stands(self, data: pyvrp.ProblemData) -> pyvrp.Solution:
        routes = []
        for vehicle, day in enumerate(self.days):
            if day.orders:
                visits = [self._visit(order) for order in day.orders]
                routes.append(pyvrp.Route(data, visits, vehicle))
        return pyvrp.Solution(data, routes)

    def _visit(self, order: WorkOrder) -> pyvrp.Activity:
        return pyvrp.Activity(pyvrp.ActivityType.CLIENT, self.at[order.key])

    def _read(self, best: pyvrp.Solution) -> tuple[float, list[list[WorkOrder]]] | None:
        """The routes as orders by row, timed by our own rules; None where they do not hold by them."""
        sequences: list[list[WorkOrder]] = [[] for _ in self.rows]
        for route in best.routes():
            visits = [each for each in route.schedule() if each.is_client()]
            sequences[route.vehicle_type()] = [self.orders[visit.idx] for visit in visits]
        value = 0.0
        for day, sequence in zip(self.days, sequences, strict=True):
            tried = Day(day.crew, day.day, day.shift, day.depot, sequence)
            if schedule(self.problem, tried) is None:
                return None
            value += _day_value(self.problem, tried)
        return value, sequences
