"""Months of the year, as a site's climate and an agreement's reports name them."""

from calendar import monthrange
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from core.calc.payload import Payload


@dataclass(frozen=True, slots=True)
class Months(Payload):
    """Month numbers from 1 to 12, each once. Raises ValueError for others."""

    SCHEMA: ClassVar[int] = 1

    numbers: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what is no list of months."""
        good = all(type(number) is int and 1 <= number <= 12 for number in self.numbers)
        if not good or len(set(self.numbers)) != len(self.numbers):
            raise ValueError(
                f"{list(self.numbers)!r} is not a list of months; give month numbers from 1 to 12, each once."
            )

    def __iter__(self) -> Iterator[int]:
        return iter(self.numbers)

    def __contains__(self, number: object) -> bool:
        return number in self.numbers

    def __len__(self) -> int:
        return len(self.numbers)


def no_months() -> dict[str, object]:
    """What is stored where no month is named."""
    return Months().to_json()


def months_after(day: date, months: int) -> date:
    """The same day of the month so many months on, or the last of a month that has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
