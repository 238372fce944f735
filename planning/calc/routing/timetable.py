"""A plan in the making: every gap of every crew's day side by side, so that one order is tried everywhere at once."""

from collections.abc import Iterable, Sequence

import numpy as np

from planning.calc.routing.problem import Floats, Ints, Plan, Problem, Shift, WorkOrder
from planning.calc.routing.timing import Day, can_do, latest_begins, route_of, schedule

_ROOM = 4  # gaps a day to begin with; a day that fills up gets more


class Timetable:
    """Days of crews with the orders on them, always feasible.

    Gaps are rows of matrices (D, G): the places before and after, when the first is left, and by when the second must
    be reached; minus infinity there where a day has no such gap.
    """

    def __init__(self, problem: Problem, blocked: Iterable[tuple[int, int]] = ()) -> None:
        self.problem = problem
        taken = set(blocked)
        pairs = [pair for pair in problem.crew_days() if pair not in taken]
        crews = problem.crews
        self.days = [Day(c, d, crews[c].shifts[d], crews[c].depot, []) for c, d in pairs]
        self.row_of = {pair: row for row, pair in enumerate(pairs)}
        self.at: dict[str, int] = {}
        self._rows: dict[object, tuple[Ints, Ints, Floats]] = {}
        self._km_cost = np.array([crews[c].km_cost for c, _ in pairs])
        self._min_cost = np.array([crews[c].hour_cost / 60.0 for c, _ in pairs])
        self._before, self._after = np.zeros((2, len(pairs), _ROOM), dtype=np.int64)
        self._leaves, self._through = np.zeros((2, len(pairs), _ROOM))
        self._latest = np.full((len(pairs), _ROOM), -np.inf)
        for row in range(len(pairs)):
            self._renew(row)

    def _renew(self, row: int) -> None:
        day = self.days[row]
        stops = schedule(self.problem, day)
        if stops is None:
            raise ValueError(f"Crew {day.crew} cannot do all of day {day.day}.")
        n = len(stops) + 1
        if n > self._latest.shape[1]:
            self._widen(n)
        places = day.places
        before, after = np.array(places[:-1]), np.array(places[1:])
        self._before[row, :n], self._after[row, :n] = before, after
        self._through[row, :n] = self._away(np.array([row]), before[None], after[None])
        self._leaves[row, :n] = [day.shift.start, *(stop.ends for stop in stops)]
        self._latest[row] = -np.inf
        self._latest[row, :n] = latest_begins(self.problem, day)

    def _widen(self, n: int) -> None:
        more = ((0, 0), (0, n))
        self._before, self._after = np.pad(self._before, more), np.pad(self._after, more)
        self._leaves, self._through = np.pad(self._leaves, more), np.pad(self._through, more)
        self._latest = np.pad(self._latest, more, constant_values=-np.inf)

    def _away(self, rows: Ints, before: Ints, after: Ints) -> Floats:
        """Money for going from places to places, (R, G), by the crews of these days."""
        problem = self.problem
        drive = self._km_cost[rows, None] * problem.travel_km[before, after]
        time = self._min_cost[rows, None] * problem.travel_min[before, after]
        return np.asarray(drive + time + problem.arrival_cost * (before != after))

    def open_to(self, order: WorkOrder) -> tuple[Ints, Ints, Floats]:
        """Rows of the days that an order may be done on, its minutes on each, and its cost there beyond the usual."""
        key = (order.fixed, order.days, tuple(order.minutes.items()), tuple(order.costs.items()))
        if key not in self._rows:
            rows = [row for row, day in enumerate(self.days) if can_do(order, day.crew, day.day)]
            crews = [self.days[row].crew for row in rows]
            self._rows[key] = (
                np.array(rows, dtype=np.int64),
                np.array([order.minutes[crew] for crew in crews], dtype=np.int64),
                np.array([order.costs.get(crew, 0.0) for crew in crews]),
            )
        return self._rows[key]

    def added_cost(self, order: WorkOrder, rows: Ints, minutes: Ints, costs: Floats) -> Floats:
        """(R, G) money that an order adds in each gap of these days: of being on the way, and of a dear crew.

        Infinite where it does not fit.
        """
        travel, place = self.problem.travel_min, order.place
        before, after = self._before[rows], self._after[rows]
        begins = np.maximum(self._leaves[rows] + travel[before, place], order.opens)
        ends = begins + minutes[:, None]
        fits = (ends <= order.closes) & (ends + travel[place, after] <= self._latest[rows])
        at = np.full_like(before, place)
        added = self._away(rows, before, at) + self._away(rows, at, after) - self._through[rows]
        return np.asarray(np.where(fits, added + costs[:, None], np.inf))

    def room(self, order: WorkOrder) -> int:
        """The longest time free for an order on the days open to it, the drive taken off; 0 where there is none."""
        rows, _, _ = self.open_to(order)
        if rows.size == 0:
            return 0
        travel, place = self.problem.travel_min, order.place
        before, after = self._before[rows], self._after[rows]
        begins = np.maximum(self._leaves[rows] + travel[before, place], order.opens)
        ends = np.minimum(self._latest[rows] - travel[place, after], order.closes)
        return max(0, int(np.where(np.isinf(self._latest[rows]), 0.0, ends - begins).max()))

    def best_gap(self, order: WorkOrder) -> tuple[float, int, int] | None:
        """The cheapest gap of all: money added, row of the day, place in it; None where it fits nowhere."""
        rows, minutes, costs = self.open_to(order)
        if rows.size == 0:
            return None
        added = self.added_cost(order, rows, minutes, costs)
        at = int(added.argmin())
        row, gap = divmod(at, added.shape[1])
        return None if np.isinf(added[row, gap]) else (float(added[row, gap]), int(rows[row]), gap)

    def insert(self, order: WorkOrder, row: int, gap: int) -> None:
        """Put an order into a gap where it fits."""
        self.days[row].orders.insert(gap, order)
        self.at[order.key] = row
        self._renew(row)

    def replace(self, rows: Sequence[int], sequences: Sequence[list[WorkOrder]]) -> None:
        """Put other orders on some days, in these sequences. Raises ValueError where they do not fit."""
        for row in rows:  # all off first: an order may go from one of the days to another
            for order in self.days[row].orders:
                del self.at[order.key]
        for row, orders in zip(rows, sequences, strict=True):
            self.days[row].orders = list(orders)
            self.at |= {order.key: row for order in orders}
            self._renew(row)

    def lay(self, row: int, orders: list[WorkOrder]) -> bool:
        """Put orders on an empty day in this sequence; False where they do not fit, and the day stays empty."""
        day = self.days[row]
        tried = Day(day.crew, day.day, day.shift, day.depot, orders)
        if any(day.crew not in order.minutes for order in orders) or schedule(self.problem, tried) is None:
            return False
        self.replace([row], [orders])
        return True

    def squeeze(self, order: WorkOrder, row: int) -> bool:
        """Put an order on this very day where it adds least; False where it does not fit."""
        rows, minutes, costs = self.open_to(order)
        mine = rows == row
        added = self.added_cost(order, rows[mine], minutes[mine], costs[mine])
        if not added.size or np.isinf(added.min()):
            return False
        self.insert(order, row, int(added.argmin()))
        return True

    def close(self, row: int) -> None:
        """Keep an empty day free of everything: it is given to work of several days."""
        start = self.days[row].shift.start
        self.days[row].shift = Shift(start, start)
        self._renew(row)

    def fill(self, orders: Iterable[WorkOrder]) -> None:
        """Put each order, in turn, where it adds least money, unless that is more than it is worth."""
        for order in orders:
            self.put(order)

    def put(self, order: WorkOrder) -> bool:
        """Put an order where it adds least money; False where it fits nowhere, or costs more than it is worth."""
        found = self.best_gap(order)
        if found is None or (order.fixed is None and found[0] >= order.worth):
            return False
        self.insert(order, found[1], found[2])
        return True

    def plan(self) -> Plan:
        """As it stands."""
        routes = tuple(route_of(self.problem, day) for day in self.days if day.orders)
        left = tuple(order.key for order in self.problem.orders if order.key not in self.at)
        return Plan(routes, left)


def by_worth(orders: Iterable[WorkOrder]) -> list[WorkOrder]:
    """What is settled first, then by worth a minute of work; equals by key, so that the same input gives the same."""
    return sorted(
        orders, key=lambda o: (o.fixed is None, -o.worth / max(1, min(o.minutes.values(), default=1)), o.key)
    )


def greedy(problem: Problem, blocked: Iterable[tuple[int, int]] = ()) -> Timetable:
    """The first plan: of orders that share a day, the best paid for their time first, each where it drives least."""
    table = Timetable(problem, blocked)
    table.fill(by_worth(order for order in problem.orders if not order.whole_days))
    return table
