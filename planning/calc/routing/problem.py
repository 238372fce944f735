"""What a planning run is given, and what it gives back, as plain numbers.

Times of day in minutes from midnight, days by their place in the plan (0 is the first), places by their row in the
travel matrices. Money in one currency.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DAY_MIN = 24 * 60


class Shift(NamedTuple):
    """Working time of a crew on one day: minutes from midnight."""

    start: int
    end: int

    @property
    def minutes(self) -> int:
        """How long it is."""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class CrewTime:
    """A crew, where it starts and ends each day, and when it works. shifts: by day; days without it are off."""

    name: str
    depot: int
    shifts: Mapping[int, Shift]


@dataclass(frozen=True, slots=True)
class WorkOrder:
    """Work at one place, done in one go on one day, or on so many working days in a row by one crew.

    minutes: by crew, of those that can do it; of one day where it takes several days
    days: of the plan, on which it may be done or begun; opens, closes: between which the work of a day lies
    worth: money that waiting beyond the plan would cost
    whole_days: 0 for work that shares its day; else the working days it takes
    fixed: crew and day that were settled with the owner and stay
    """

    key: str
    place: int
    minutes: Mapping[int, int]
    days: frozenset[int]
    worth: float
    opens: int = 0
    closes: int = DAY_MIN
    whole_days: int = 0
    fixed: tuple[int, int] | None = None


@dataclass(frozen=True)
class Problem:
    """A plan to be made. travel_min, travel_cost: (P, P) minutes and money from place to place."""

    crews: Sequence[CrewTime]
    orders: Sequence[WorkOrder]
    travel_min: Ints
    travel_cost: Floats

    def __post_init__(self) -> None:
        """Raises ValueError for matrices that do not fit the places, and for keys that are not unique."""
        places = {crew.depot for crew in self.crews} | {order.place for order in self.orders}
        shape = (max(places, default=-1) + 1,) * 2
        if self.travel_min.shape != self.travel_cost.shape or self.travel_min.shape < shape:
            raise ValueError(f"The travel matrices are {self.travel_min.shape}; {shape[0]} places are used.")
        if len({order.key for order in self.orders}) < len(self.orders):
            raise ValueError("Two work orders have the same key.")

    @cached_property
    def by_key(self) -> dict[str, WorkOrder]:
        """Work orders by their key."""
        return {order.key: order for order in self.orders}

    def crew_days(self) -> list[tuple[int, int]]:
        """Every crew and day on which it works, by day."""
        pairs = [(crew, day) for crew, each in enumerate(self.crews) for day in each.shifts]
        return sorted(pairs, key=lambda pair: (pair[1], pair[0]))


@dataclass(frozen=True, slots=True)
class Stop:
    """A work order on a route, with the minutes at which its work begins and ends."""

    key: str
    begins: int
    ends: int


@dataclass(frozen=True, slots=True)
class Route:
    """What one crew does on one day, in order. leaves, returns: at the depot; travel: money for the driving."""

    crew: int
    day: int
    stops: tuple[Stop, ...]
    leaves: int
    returns: int
    travel_min: int
    travel_cost: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Routes by crew and day, and the work orders that found no place in it."""

    routes: tuple[Route, ...]
    left: tuple[str, ...]

    def value(self, problem: Problem) -> float:
        """Worth of what is done less the money for driving."""
        done = {stop.key for route in self.routes for stop in route.stops}
        worth = sum(problem.by_key[key].worth for key in done)
        return worth - sum(route.travel_cost for route in self.routes)

    def route_of(self, crew: int, day: int) -> Route | None:
        """The route of a crew on a day."""
        return next((route for route in self.routes if (route.crew, route.day) == (crew, day)), None)
