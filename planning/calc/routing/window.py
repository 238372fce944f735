"""Some crews' days of a plan as a routing problem with prizes, a crew's day being a vehicle."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyvrp

from planning.calc.routing import solver
from planning.calc.routing.problem import Floats, Ints, WorkOrder
from planning.calc.routing.timetable import Timetable
from planning.calc.routing.timing import Day, day_value, schedule

Matrix = np.ndarray[Any, np.dtype[Any]]  # as the solver names its type
CENTS = 100  # the solver counts in whole cents


class Window:
    """A few crews' days. A load dimension a crew and a day forbids what is not open to an order: it has a demand of 1
    there, and that vehicle no capacity. Crews that drive at the same cost and take the same time and money for the work
    share a profile: what one of them takes more than the least stands on the ways out of the place.
    """

    def __init__(self, table: Timetable, rows: Sequence[int], orders: Sequence[WorkOrder]) -> None:
        self.problem, self.rows, self.orders = table.problem, rows, orders
        self.days = [table.days[row] for row in rows]
        self.crews = sorted({day.crew for day in self.days})
        self.dates = sorted({day.day for day in self.days})
        self.depots = sorted({day.depot for day in self.days})
        self.at = {order.key: i for i, order in enumerate(orders)}
        able = [[crew for crew in self.crews if crew in order.minutes] for order in orders]
        self.least_min = [min(o.minutes[c] for c in who) for o, who in zip(orders, able, strict=True)]
        self.most_min = [max(o.minutes[c] for c in who) for o, who in zip(orders, able, strict=True)]
        self.least_cost = [min(o.costs.get(c, 0.0) for c in who) for o, who in zip(orders, able, strict=True)]
        self.kind_of: dict[int, int] = {}
        self.kinds = self._kinds()

    def solve(self, iterations: int, seed: int) -> tuple[float, list[list[WorkOrder]]] | None:
        """Value and orders by row; None where the solver found nothing feasible."""
        data = self._data()
        best = solver.solve(data, solver.iterations(iterations), seed, self._as_it_stands(data))
        return self._read(best) if best.is_feasible() else None

    def _kinds(self) -> list[int]:
        """One crew of each kind; those alike share its matrices."""
        first: dict[object, int] = {}
        for crew in self.crews:
            who, (minutes, costs) = self.problem.crews[crew], self._more(crew)
            kind = (who.km_cost, who.hour_cost, minutes.tobytes(), costs.tobytes())
            self.kind_of[crew] = list(first).index(kind) if kind in first else len(first)
            first.setdefault(kind, crew)
        return list(first.values())

    def _more(self, crew: int) -> tuple[Ints, Floats]:
        """(N,) minutes and money that each order takes this crew beyond the least."""
        pairs = [
            (order.minutes[crew] - minutes, order.costs.get(crew, 0.0) - cost)
            if crew in order.minutes
            else (0, 0.0)
            for order, minutes, cost in zip(self.orders, self.least_min, self.least_cost, strict=True)
        ]
        minutes, costs = zip(*pairs, strict=True)
        return np.array(minutes, dtype=np.int64), np.array(costs)

    def _data(self) -> pyvrp.ProblemData:
        at = np.asarray([*self.depots, *(order.place for order in self.orders)])
        km, minutes = (m[np.ix_(at, at)] for m in (self.problem.travel_km, self.problem.travel_min))
        elsewhere = self.problem.arrival_cost * (at[:, None] != at)
        ways = [self._ways(crew, km, minutes, elsewhere) for crew in self.kinds]
        return pyvrp.ProblemData(
            locations=[pyvrp.Location(0, 0) for _ in at],
            clients=[self._client(i) for i in range(len(self.orders))],
            depots=[pyvrp.Depot(i) for i in range(len(self.depots))],
            vehicle_types=[self._vehicle(day) for day in self.days],
            distance_matrices=[cost for cost, _ in ways],
            duration_matrices=[time for _, time in ways],
        )

    def _ways(self, crew: int, km: Floats, minutes: Ints, elsewhere: Floats) -> tuple[Matrix, Matrix]:
        """Money in cents and minutes from place to place by a kind of crew, with what its work takes more."""
        who, first = self.problem.crews[crew], len(self.depots)
        more_min, more_cost = self._more(crew)
        cost = who.km_cost * km + who.hour_cost / 60.0 * minutes + elsewhere
        cost[first:] += more_cost[:, None]
        time = minutes.astype(np.int64)
        time[first:] += more_min[:, None]
        cents = np.rint(CENTS * cost).astype(np.int64)
        for matrix in (cents, time):
            np.fill_diagonal(matrix, 0)
        return cents, time

    def _client(self, i: int) -> pyvrp.Client:
        order = self.orders[i]
        fixed = order.fixed
        crews = [(fixed is not None and fixed[0] != c) or c not in order.minutes for c in self.crews]
        dates = [d not in order.days if fixed is None else d != fixed[1] for d in self.dates]
        prize = max(0, round(CENTS * (order.worth - self.least_cost[i])))
        return pyvrp.Client(
            len(self.depots) + i,
            delivery=[int(closed) for closed in (*crews, *dates)],
            service_duration=self.least_min[i],
            tw_early=order.opens,
            tw_late=max(order.opens, order.closes - self.most_min[i]),
            prize=prize if fixed is None else 0,
            required=fixed is not None,
        )

    def _vehicle(self, day: Day) -> pyvrp.VehicleType:
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
            value += day_value(self.problem, tried)
        return value, sequences
