"""Days of the week, as a crew's working week and a site's closed days name them."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from core.calc.payload import Payload

NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class Weekdays(Payload):
    """Numbers by ISO 8601 from 1, Monday, to 7, Sunday, each once. Raises ValueError for others."""

    SCHEMA: ClassVar[int] = 1

    numbers: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what is no list of weekdays."""
        good = all(type(number) is int and 1 <= number <= 7 for number in self.numbers)
        if not good or len(set(self.numbers)) != len(self.numbers):
            raise ValueError(
                f"{list(self.numbers)!r} is not a list of weekdays; give numbers from 1, Monday, to 7, each once."
            )

    def __iter__(self) -> Iterator[int]:
        return iter(self.numbers)

    def __contains__(self, number: object) -> bool:
        return number in self.numbers

    def __len__(self) -> int:
        return len(self.numbers)


def no_weekdays() -> dict[str, object]:
    """What is stored where no weekday is named."""
    return Weekdays().to_json()


def working_week() -> dict[str, object]:
    """Monday to Friday, as it is stored."""
    return Weekdays((1, 2, 3, 4, 5)).to_json()
