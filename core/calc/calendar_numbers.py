"""Numbers of the calendar that somebody ticks: months, weekdays."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from core.calc.payload import Payload
from core.calc.translation import gettext as _


@dataclass(frozen=True, slots=True)
class CalendarNumbers(Payload):
    """Numbers from 1 to LAST, each once. Raises ValueError for others, in the words of WRONG."""

    SCHEMA: ClassVar[int] = 1
    LAST: ClassVar[int]
    WRONG: ClassVar[str]

    numbers: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what is no such list."""
        good = all(type(number) is int and 1 <= number <= self.LAST for number in self.numbers)
        if not good or len(set(self.numbers)) != len(self.numbers):
            raise ValueError(_(self.WRONG) % {"given": list(self.numbers)})

    def __iter__(self) -> Iterator[int]:
        return iter(self.numbers)

    def __contains__(self, number: object) -> bool:
        return number in self.numbers

    def __len__(self) -> int:
        return len(self.numbers)
