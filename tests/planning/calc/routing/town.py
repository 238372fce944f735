"""Small plans on a line of places, 10 minutes and 10 in money from one to the next; place 0 is the depot."""

import numpy as np

from planning.calc.routing.problem import CrewTime, Problem, Shift, WorkOrder

DAY = Shift(480, 960)  # eight hours


def line(n_places):
    at = np.arange(n_places)
    return 10 * np.abs(at[:, None] - at)


def crew(name="one", days=(0, 1, 2), depot=0, shift=DAY, **costs):
    return CrewTime(name, depot, dict.fromkeys(days, shift), **costs)


def order(key, place, minutes=60, days=(0, 1, 2), worth=500.0, crews=(0,), **changes):
    return WorkOrder(key, place, dict.fromkeys(crews, minutes), frozenset(days), worth, **changes)


def town(orders, crews=None, n_places=10, arrival_cost=0.0):
    travel = line(n_places)
    return Problem(crews or [crew()], orders, travel, travel.astype(float), arrival_cost)
