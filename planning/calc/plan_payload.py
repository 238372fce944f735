"""What is kept of a plan of work: crews' days with their stops, and what found no place."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar
from uuid import UUID

from core.calc.payload import Payload
from planning.calc.routing.reasons import Why


@dataclass(frozen=True, slots=True)
class PlannedStop:
    """One thing to do on a crew's day.

    key: "advice", "finding" or "task" and the id of the row; a task stands on a visit already and is not moved
    begins, ends: minutes from midnight; worth: money that waiting costs
    """

    key: str
    title: str
    surface: UUID
    where: str
    begins: int
    ends: int
    worth: float

    @property
    def is_settled(self) -> bool:
        """Whether it is on a visit already."""
        return self.key.startswith("task ")

    @property
    def minutes(self) -> int:
        """Of work."""
        return self.ends - self.begins


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """What one crew does on one day. leaves, returns, shift_min: minutes; accepted: it has become a visit."""

    crew: UUID
    on: date
    leaves: int
    returns: int
    shift_min: int
    travel_min: int
    travel_km: float
    travel_cost: float
    stops: tuple[PlannedStop, ...]
    accepted: bool = False

    @property
    def key(self) -> str:
        """Names the day in a form."""
        return f"{self.on:%Y-%m-%d} {self.crew}"

    @property
    def busy_min(self) -> int:
        """Out, working or driving."""
        return self.returns - self.leaves

    @property
    def is_new(self) -> bool:
        """Whether anything on it is not on a visit yet."""
        return not self.accepted and any(not stop.is_settled for stop in self.stops)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Work that found no place. drive_cost: money of driving that it would add, where that is known."""

    key: str
    title: str
    surface: UUID
    where: str
    why: Why
    minutes: int
    worth: float
    drive_cost: float | None = None


@dataclass(frozen=True, slots=True)
class WorkPlanResult(Payload):
    """A plan of work. alone_min, alone_cost: of driving, were each piece of work a trip of its own
    without_place: names of sites without coordinates, whose drives are guessed
    """

    SCHEMA: ClassVar[int] = 1

    days: tuple[PlannedDay, ...]
    left: tuple[LeftOut, ...]
    alone_min: int
    alone_cost: float
    without_place: tuple[str, ...] = ()

    def day_of(self, crew: UUID, on: date) -> PlannedDay | None:
        """The day of a crew."""
        return next((day for day in self.days if (day.crew, day.on) == (crew, on)), None)

    def is_settled(self, key: str) -> bool:
        """Whether a piece of work stands on a visit, or its day was accepted."""
        return any(
            day.accepted or stop.is_settled for day in self.days for stop in day.stops if stop.key == key
        )

    @property
    def travel_min(self) -> int:
        """Driving in all."""
        return sum(day.travel_min for day in self.days)

    @property
    def travel_cost(self) -> float:
        """Money for driving in all."""
        return sum(day.travel_cost for day in self.days)

    @property
    def work_min(self) -> int:
        """Working in all."""
        return sum(stop.minutes for day in self.days for stop in day.stops)
