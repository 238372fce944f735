"""A fixed calendar to hold a plan against: each job booked on the first free day, driven in the order of booking.

It is what a firm does that writes work into a diary as it comes, without regard to where it lies.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from planning.calc.routing.problem import Plan, Problem, Route, WorkOrder
from planning.calc.routing.ties import as_one
from planning.calc.routing.timing import can_do


@dataclass(frozen=True, slots=True)
class Booked:
    """What the same work needs when it is booked so.

    travel_min, travel_cost: of the driving; crew_days: on which somebody goes out; unbooked: pieces of work for which
    no free day was left
    """

    travel_min: int
    travel_cost: float
    crew_days: int
    unbooked: int


def booked(problem: Problem, plan: Plan) -> Booked:
    """The work of a plan, booked in the order in which each could first be done; then by its key.

    Fixed visits and work of several days stay where the plan has them, a cleaning goes with the tests beside it.
    """
    diary = _Diary(problem)
    for route, orders in _settled(problem, plan):
        diary.keep(route, orders)
    unbooked = sum(count for order, count in _free(problem, plan) if not diary.book(order))
    return Booked(diary.travel_min, round(diary.travel_cost, 2), diary.days_out, unbooked)


def _stays(order: WorkOrder) -> bool:
    return order.fixed is not None or order.whole_days > 0


def _settled(problem: Problem, plan: Plan) -> Iterator[tuple[Route, list[WorkOrder]]]:
    for route in plan.routes:
        yield route, [order for stop in route.stops if _stays(order := problem.by_key[stop.key])]


def _free(problem: Problem, plan: Plan) -> list[tuple[WorkOrder, int]]:
    """Orders that may be booked anew, each with of how many pieces it is."""
    found = []
    for route in plan.routes:
        beside: dict[str, list[WorkOrder]] = defaultdict(list)
        for order in (problem.by_key[stop.key] for stop in route.stops):
            if not _stays(order):
                beside[order.tie.cleaning if order.tie else order.key].append(order)
        found += [(_whole(parts), len(parts)) for parts in beside.values()]
    return sorted(found, key=lambda each: (min(each[0].days, default=0), each[0].key))


def _whole(parts: Sequence[WorkOrder]) -> WorkOrder:
    head = next((order for order in parts if order.tie is None), parts[0])
    return as_one(head, parts) if len(parts) > 1 else head


class _Diary:
    """Crews' days, filled from the morning on."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.rows = problem.crew_days()
        crews = [problem.crews[crew] for crew, _ in self.rows]
        self.until = np.array([c.shifts[d].end for c, (_, d) in zip(crews, self.rows, strict=True)])
        self.free_at = np.array([c.shifts[d].start for c, (_, d) in zip(crews, self.rows, strict=True)])
        self.depot = np.array([crew.depot for crew in crews], dtype=np.int64)
        self.last = self.depot.copy()
        self.places: dict[int, list[int]] = defaultdict(list)

    def keep(self, route: Route, orders: Iterable[WorkOrder]) -> None:
        """Put work on the day that it has."""
        row = self.rows.index((route.crew, route.day))
        for order in orders:
            self._put(row, order)

    def book(self, order: WorkOrder) -> bool:
        """Put work at the end of the first day that has room for it; False where none has."""
        rows = np.array(
            [row for row, (crew, day) in enumerate(self.rows) if can_do(order, crew, day)], dtype=np.int64
        )
        if not rows.size:
            return False
        ends, travel = self._ends(rows, order), self.problem.travel_min
        home = ends + travel[order.place, self.depot[rows]]
        fits = np.flatnonzero((ends <= order.closes) & (home <= self.until[rows]))
        if not fits.size:
            return False
        self._put(int(rows[fits[0]]), order)
        return True

    def _ends(self, rows: np.ndarray, order: WorkOrder) -> np.ndarray:
        there = self.free_at[rows] + self.problem.travel_min[self.last[rows], order.place]
        minutes = np.array([order.minutes[self.rows[row][0]] for row in rows])
        return np.asarray(np.maximum(there, order.opens) + minutes)

    def _put(self, row: int, order: WorkOrder) -> None:
        self.free_at[row] = self._ends(np.array([row]), order)[0]
        self.last[row] = order.place
        self.places[row].append(order.place)

    @property
    def days_out(self) -> int:
        return len(self.places)

    @property
    def travel_min(self) -> int:
        minutes = self.problem.travel_min
        return sum(int(minutes[way[:-1], way[1:]].sum()) for way in map(np.asarray, self._ways().values()))

    @property
    def travel_cost(self) -> float:
        return sum(self.problem.drive_cost(self.rows[row][0], way) for row, way in self._ways().items())

    def _ways(self) -> dict[int, list[int]]:
        return {row: [int(self.depot[row]), *at, int(self.depot[row])] for row, at in self.places.items()}
