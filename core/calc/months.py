"""Months of the year, as a site's climate and an agreement's reports name them."""

from collections.abc import Iterator
from dataclasses import dataclass
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
