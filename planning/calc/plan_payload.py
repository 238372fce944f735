"""What is kept of a plan of work: crews' days with their stops, and what found no place."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar
from uuid import UUID

from core.calc.payload import Payload
from planning.calc.due import DueKind
from planning.calc.routing.first_free import Booked
from planning.calc.routing.reasons import Why


@dataclass(frozen=True, slots=True)
class Wording:
    """What a piece of work is, so that each reader is told in their language. Stored values; empty where it has none.

    action: empty in a plan that was made before this was told; moment: of a test beside a cleaning; due: the `DueKind`
    of what falls due because it was built; item, found: what an inspection found, by its choice and as it was written
    """

    action: str = ""
    method: str = ""
    moment: str = ""
    due: str = ""
    item: str = ""
    found: str = ""


@dataclass(frozen=True, slots=True)
class PlannedStop:
    """One thing to do on a crew's day.

    key: its kind and the id of a row. "advice" and "finding": that row; "task": a task that stands on a visit already
    and is not moved; "rest": the task that a visit left something of; "before" and "after": what a cleaning comes from,
    its advice, its task or the task it is a rest of, for a test on that side of it, which nobody advised; a
    `DueKind` of what falls due because it was built: its surface
    begins, ends: minutes from midnight; worth: money that waiting costs; cost: of the day's work by this crew
    foot_min, vehicles_min: from its end until people and vehicles may go on the surface again
    beside: the key of the cleaning that a test stands with; parts: days it takes, one of which this is
    """

    key: str
    title: str
    surface: UUID
    where: str
    begins: int
    ends: int
    worth: float
    cost: float = 0.0
    foot_min: int = 0
    vehicles_min: int = 0
    beside: str = ""
    parts: int = 1
    wording: Wording = Wording()

    @property
    def is_made(self) -> bool:
        """Whether it is a test that the plan put beside a cleaning, and nobody advised."""
        return self.key.partition(" ")[0] in ("before", "after")

    @property
    def due_by(self) -> DueKind | None:
        """What falls due because the surface was built, where it is that."""
        kind = self.key.partition(" ")[0]
        return DueKind(kind) if kind in DueKind.values else None

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
    """What one crew does on one day. leaves, returns, shift_min: minutes; accepted: it has become a visit.

    drives: how many there are, measured: how many of them are from the firm's own file
    """

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
    drives: int = 0
    measured: int = 0

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
    """Work that found no place.

    drive_cost: money that it would add beside its worth, where that is known; method: of a cleaning, else empty
    first_on, last_on: days of the plan on which a crew could do it; longest_min: the longest time free for it then
    whole_days: that it takes, 0 for work that shares its day
    season_ends: the last day of its season, where one is near; season_why: what ends that
    """

    key: str
    title: str
    surface: UUID
    where: str
    why: Why
    minutes: int
    worth: float
    drive_cost: float | None = None
    method: str = ""
    first_on: date | None = None
    last_on: date | None = None
    longest_min: int = 0
    whole_days: int = 0
    season_ends: date | None = None
    season_why: str = ""
    wording: Wording = Wording()


@dataclass(frozen=True, slots=True)
class WorkPlanResult(Payload):
    """A plan of work. alone_min, alone_cost: of driving, were each piece of work a trip of its own
    without_place: names of sites without coordinates, of which a drive is guessed
    booked: the same work booked on the first free day as it comes; None for a plan made before that was told
    """

    SCHEMA: ClassVar[int] = 1

    days: tuple[PlannedDay, ...]
    left: tuple[LeftOut, ...]
    alone_min: int
    alone_cost: float
    without_place: tuple[str, ...] = ()
    booked: Booked | None = None

    def day_of(self, crew: UUID, on: date) -> PlannedDay | None:
        """The day of a crew."""
        return next((day for day in self.days if (day.crew, day.on) == (crew, on)), None)

    def is_settled(self, key: str) -> bool:
        """Whether a piece of work stands on a visit, or its day was accepted."""
        return any(
            day.accepted or stop.is_settled for day in self.days for stop in day.stops if stop.key == key
        )

    def with_rest(self, days: Sequence[PlannedDay]) -> tuple[PlannedDay, ...]:
        """These days, and those that hold the rest of work on them that takes several."""
        chosen = list(days)
        for day in chosen:  # grows while it is gone through
            parts = {stop.key for stop in day.stops if stop.parts > 1 and not stop.is_settled}
            rest = [each for each in self.days if parts & {stop.key for stop in each.stops}]
            chosen += [each for each in rest if each not in chosen and not each.accepted]
        return tuple(day for day in self.days if day in chosen)

    @property
    def travel_min(self) -> int:
        """Driving in all."""
        return sum(day.travel_min for day in self.days)

    @property
    def travel_cost(self) -> float:
        """Money for driving in all."""
        return sum(day.travel_cost for day in self.days)

    @property
    def work_cost(self) -> float:
        """Money for the work in all."""
        return sum(stop.cost for day in self.days for stop in day.stops)

    @property
    def drives(self) -> tuple[int, int]:
        """How many drives there are, and how many of them the firm measured itself."""
        return sum(day.drives for day in self.days), sum(day.measured for day in self.days)

    @property
    def days_out(self) -> int:
        """On how many days a crew goes out."""
        return sum(bool(day.stops) for day in self.days)

    @property
    def work_min(self) -> int:
        """Working in all."""
        return sum(stop.minutes for day in self.days for stop in day.stops)
