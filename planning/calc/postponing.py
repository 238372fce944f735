"""On which later day the same crew can do what an unworkable day prevented: plain dates and minutes."""

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

AHEAD_DAYS = 30  # a visit that finds no day within them is for a person to plan
DRIVES_MIN = 60  # of a crew's day are kept free for drives; our judgement


@dataclass(frozen=True, slots=True)
class Outing:
    """A visit that is to move. minutes: of its open work; may_go_on: whether all its sites can be worked on that day.

    parts: what is to be done where; a day on which the crew does the same already is not for it.
    """

    key: Hashable
    minutes: int
    may_go_on: Callable[[date], bool]
    parts: frozenset[Hashable] = frozenset()


@dataclass(slots=True)
class CrewCalendar:
    """When a crew works, how long, and what it has to do by day: minutes of work and its parts."""

    works_on: Callable[[date], bool]
    shift_min: int
    taken_min: dict[date, int] = field(default_factory=dict)
    parts: dict[date, frozenset[Hashable]] = field(default_factory=dict)

    def takes(self, outing: Outing, on: date) -> bool:
        """Whether a day has room for it. A day with nothing on it takes any outing: its length was settled before."""
        if not self.works_on(on) or not outing.may_go_on(on):
            return False
        if self.parts.get(on, frozenset()) & outing.parts:
            return False
        taken = self.taken_min.get(on, 0)
        return taken == 0 or taken + outing.minutes <= self.shift_min - DRIVES_MIN

    def put(self, outing: Outing, on: date) -> None:
        """Count it among what the crew has to do on a day."""
        self.taken_min[on] = self.taken_min.get(on, 0) + outing.minutes
        self.parts[on] = self.parts.get(on, frozenset()) | outing.parts


def first_days(
    outings: Iterable[Outing], calendar: CrewCalendar, after: date
) -> Sequence[tuple[Outing, date | None]]:
    """For each outing of one crew, in order, the first day after a day that takes it; None within AHEAD_DAYS."""
    found = []
    for outing in outings:
        days = (after + timedelta(days=ahead) for ahead in range(1, AHEAD_DAYS + 1))
        on = next((day for day in days if calendar.takes(outing, day)), None)
        if on is not None:
            calendar.put(outing, on)
        found.append((outing, on))
    return found
