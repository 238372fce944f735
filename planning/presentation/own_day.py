"""A crew's day for who is out with it: what is next in front, what is done folded away, the way there in one press."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import quote, urlencode

from core.calc.format import begun, said_by
from core.calc.format import day as day_words
from planning.calc.stop_order import Position
from planning.models import Crew
from planning.presentation.crew_days import StopLine, stop_lines
from planning.presentation.tasks import TaskLine
from planning.selectors.crew_days import CrewDay
from planning.selectors.own_days import DayAhead


@dataclass(frozen=True, slots=True)
class OwnStop:
    """A stop. go: opens the phone's navigation; left: pieces still to do; is_next: the first with something to do."""

    line: StopLine
    go: str
    left: int
    is_next: bool

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do at it."""
        return self.left == 0


@dataclass(frozen=True, slots=True)
class OwnDay:
    """The stops of a day. done, pieces: of work, ended and in all."""

    stops: tuple[OwnStop, ...]
    done: int
    pieces: int

    @property
    def is_over(self) -> bool:
        """Whether every piece has ended."""
        return self.done == self.pieces


@dataclass(frozen=True, slots=True)
class Choice:
    """Another day or crew to look at."""

    label: str
    query: str
    is_shown: bool


def crew_choices(crews: Sequence[Crew], shown: Crew) -> tuple[Choice, ...]:
    """The crews of somebody who goes out with several; none for one."""
    if len(crews) < 2:
        return ()
    return tuple(Choice(crew.name, f"?{urlencode({'crew': crew.pk})}", crew == shown) for crew in crews)


def day_choices(crew: Crew, days: Sequence[DayAhead], shown: date) -> tuple[Choice, ...]:
    """The days ahead on which there is work."""
    return tuple(
        Choice(
            begun(f"{said_by(day.on, 'EEE')} {day_words(day.on)}"),
            f"?{urlencode({'crew': crew.pk, 'on': day.on})}",
            day.on == shown,
        )
        for day in days
    )


def own_day(day: CrewDay, back: str) -> OwnDay:
    """The day with the next task in front. back: the address to come back to when a record is saved."""
    lines = stop_lines(day, back)
    left = [sum(line.is_pending for line in stop.tasks) for stop in lines]
    first = next((i for i, count in enumerate(left) if count), -1)
    places = [stop.position for stop in day.stops]
    stops = tuple(
        OwnStop(line, way_to(places[i], line.name, line.address), left[i], i == first)
        for i, line in enumerate(lines)
    )
    pieces = sum(len(stop.tasks) for stop in lines)
    return OwnDay(stops, pieces - sum(left), pieces)


def way_to(position: Position | None, name: str, address: str) -> str:
    """A geo address (RFC 5870), which a phone opens in the map that its owner uses; empty where neither is known.

    The query with a label beside it is no part of the RFC; what does not know it goes by the position.
    """
    if position is not None:
        at = f"{position[0]:.6f},{position[1]:.6f}"
        return f"geo:{at}?q={at}({quote(name)})"
    return f"geo:0,0?{urlencode({'q': ' '.join(address.split())})}" if address.strip() else ""


def next_task(stops: Sequence[OwnStop]) -> TaskLine | None:
    """What is to be done first; None where all is done."""
    pending = (line for stop in stops if stop.is_next for line in stop.line.tasks if line.is_pending)
    return next(pending, None)
