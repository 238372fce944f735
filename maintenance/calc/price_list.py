"""What a firm asks its owners for each way of cleaning, as one list has it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from core.calc.paving import CleaningMethod
from core.calc.payload import Payload


@dataclass(frozen=True, slots=True)
class MethodPrice:
    """Of one way of cleaning. minimum: of all surfaces at one site that are cleaned so on one call-out."""

    method: CleaningMethod
    per_m2: Decimal
    minimum: Decimal


@dataclass(frozen=True, slots=True)
class MethodPrices(Payload):
    """All that the list has a price for."""

    SCHEMA: ClassVar[int] = 1

    prices: tuple[MethodPrice, ...] = ()

    def of(self, method: str) -> MethodPrice | None:
        """The price of one way of cleaning; None where the list has none."""
        return next((price for price in self.prices if price.method == method), None)


def no_prices() -> dict[str, object]:
    """What is stored where no way of cleaning has a price."""
    return MethodPrices().to_json()
