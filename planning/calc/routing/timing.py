"""When the stops of a day begin and end, and whether an order fits among them."""

from dataclasses import dataclass

import numpy as np

from planning.calc.routing.problem import Problem, Route, Shift, Stop, WorkOrder


@dataclass(slots=True)
class Day:
    """One crew's day while a plan is made: orders in sequence, kept feasible."""

    crew: int
    day: int
    shift: Shift
    depot: int
    orders: list[WorkOrder]

    @property
    def places(self) -> list[int]:
        """The depot, every stop, the depot."""
        return [self.depot, *(order.place for order in self.orders), self.depot]


def can_do(order: WorkOrder, crew: int, day: int) -> bool:
    """Whether a crew and a day are open to an order at all."""
    if crew not in order.minutes:
        return False
    return day in order.days if order.fixed is None else order.fixed == (crew, day)


def schedule(problem: Problem, day: Day) -> list[Stop] | None:
    """The stops of a day, each as early as it can be; None where they do not fit."""
    travel, at, place, found = problem.travel_min, day.shift.start, day.depot, []
    for order in day.orders:
        begins = max(at + int(travel[place, order.place]), order.opens)
        at = begins + order.minutes[day.crew]
        if at > order.closes:
            return None
        place = order.place
        found.append(Stop(order.key, begins, at))
    return found if at + int(travel[place, day.depot]) <= day.shift.end else None


def latest_begins(problem: Problem, day: Day) -> list[int]:
    """How late each stop may begin with all later ones still fitting, and last how late the depot may be reached."""
    travel, latest, place = problem.travel_min, day.shift.end, day.depot
    found = [latest]
    for order in reversed(day.orders):
        minutes = order.minutes[day.crew]
        latest = min(order.closes, latest - int(travel[order.place, place])) - minutes
        place = order.place
        found.append(latest)
    return found[::-1]


def day_value(problem: Problem, day: Day) -> float:
    """Worth of a day's work by its crew, less the money for being on the way."""
    return sum(order.worth_by(day.crew) for order in day.orders) - problem.away_cost(day.crew, day.places)


def route_of(problem: Problem, day: Day) -> Route:
    """A day as a route, leaving no earlier than the first stop asks. Raises ValueError where it does not fit."""
    stops = schedule(problem, day)
    if stops is None:
        raise ValueError(f"Crew {day.crew} cannot do all of day {day.day}.")
    places = np.asarray(day.places)
    minutes = problem.travel_min[places[:-1], places[1:]]
    return Route(
        day.crew,
        day.day,
        tuple(stops),
        stops[0].begins - int(minutes[0]) if stops else day.shift.start,
        stops[-1].ends + int(minutes[-1]) if stops else day.shift.start,
        int(minutes.sum()),
        problem.drive_cost(day.crew, day.places),
    )
