"""What a planning run is given, and what it gives back, as plain numbers.

Times of day in minutes from midnight, days by their place in the plan (0 is the first), places by their row in the
travel matrices. Money in one currency.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.calc.choices import TextChoice

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
    """A crew, where it starts and ends each day, when it works, and what its driving costs.

    shifts: by day; days without it are off. km_cost: of the van, hour_cost: of the people in it.
    """

    name: str
    depot: int
    shifts: Mapping[int, Shift]
    km_cost: float = 1.0
    hour_cost: float = 0.0


class Side(TextChoice):
    """On which side of a cleaning a piece of work stands."""

    BEFORE = "before", "before"
    AFTER = "after", "after"


@dataclass(frozen=True, slots=True)
class Tie:
    """Holds work to the cleaning of its surface. cleaning: its key; alone: whether it is done without it, too.

    within: days before the cleaning, or after the surface is open again, at most
    """

    cleaning: str
    side: Side
    within: int = 28
    alone: bool = False


@dataclass(frozen=True, slots=True)
class WorkOrder:
    """Work at one place, done in one go on one day, or on so many working days in a row by one crew.

    minutes: by crew, of those that can do it; of one day where it takes several days
    days: of the plan, on which it may be done or begun; opens, closes: between which the work of a day lies
    worth: money that waiting beyond the plan would cost
    whole_days: 0 for work that shares its day; else the working days it takes
    fixed: crew and day that were settled with the owner and stay
    costs: money by crew beyond what the firm's own work costs; below 0 where a crew is cheaper, left out for none
    ground: the surface; cure_min: for so long after its end nobody works on that
    tie: to the cleaning that it stands before or after
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
    costs: Mapping[int, float] = field(default_factory=dict)
    ground: str = ""
    cure_min: int = 0
    tie: Tie | None = None

    def worth_by(self, crew: int) -> float:
        """Worth where this crew does it."""
        return self.worth - self.costs.get(crew, 0.0)


@dataclass(frozen=True)
class Problem:
    """A plan to be made. travel_min, travel_km: (P, P) minutes and kilometres from place to place.

    arrival_cost: money of each arrival somewhere else, beside the drive; work at one site on one trip saves it
    """

    crews: Sequence[CrewTime]
    orders: Sequence[WorkOrder]
    travel_min: Ints
    travel_km: Floats
    arrival_cost: float = 0.0

    def __post_init__(self) -> None:
        """Raises ValueError for matrices that do not fit the places, keys that are not unique, and ties to nothing."""
        places = {crew.depot for crew in self.crews} | {order.place for order in self.orders}
        shape = (max(places, default=-1) + 1,) * 2
        if self.travel_min.shape != self.travel_km.shape or self.travel_min.shape < shape:
            raise ValueError(f"The travel matrices are {self.travel_min.shape}; {shape[0]} places are used.")
        if len({order.key for order in self.orders}) < len(self.orders):
            raise ValueError("Two work orders have the same key.")
        for order in self.orders:
            if order.tie is not None and self._is_loose(order.tie):
                raise ValueError(
                    f"{order.key} is tied to {order.tie.cleaning}, which is no order of its own."
                )

    def _is_loose(self, tie: Tie) -> bool:
        cleaning = self.by_key.get(tie.cleaning)
        return cleaning is None or cleaning.tie is not None

    @cached_property
    def by_key(self) -> dict[str, WorkOrder]:
        """Work orders by their key."""
        return {order.key: order for order in self.orders}

    def crew_days(self) -> list[tuple[int, int]]:
        """Every crew and day on which it works, by day."""
        pairs = [(crew, day) for crew, each in enumerate(self.crews) for day in each.shifts]
        return sorted(pairs, key=lambda pair: (pair[1], pair[0]))

    def drive_cost(self, crew: int, places: Sequence[int]) -> float:
        """Money for a crew's driving from place to place in this order: its van by distance, its people by time."""
        at, who = np.asarray(places), self.crews[crew]
        km, minutes = self.travel_km[at[:-1], at[1:]].sum(), self.travel_min[at[:-1], at[1:]].sum()
        return float(who.km_cost * km + who.hour_cost * minutes / 60.0)

    def away_cost(self, crew: int, places: Sequence[int]) -> float:
        """Money for being on the way: the driving and every arrival."""
        at = np.asarray(places)
        return self.drive_cost(crew, places) + self.arrival_cost * int((at[:-1] != at[1:]).sum())

    def there_and_back(self, crew: int, place: int) -> float:
        """Money for a trip to one place alone, its arrivals too."""
        depot = self.crews[crew].depot
        return self.away_cost(crew, (depot, place, depot))


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
        """Worth of what is done, less what it costs beyond the firm's own work and the money for being on the way."""
        who = {stop.key: route.crew for route in self.routes for stop in route.stops}
        worth = sum(problem.by_key[key].worth_by(crew) for key, crew in who.items())
        return worth - sum(self._away(problem, route) for route in self.routes)

    @staticmethod
    def _away(problem: Problem, route: Route) -> float:
        depot = problem.crews[route.crew].depot
        places = [depot, *(problem.by_key[stop.key].place for stop in route.stops), depot]
        return problem.away_cost(route.crew, places)

    def route_of(self, crew: int, day: int) -> Route | None:
        """The route of a crew on a day."""
        return next((route for route in self.routes if (route.crew, route.day) == (crew, day)), None)
