"""Values that snapshots are made of.

Numbers are kept in SI and put into a reader's units when they are shown. Sentences that name numbers are written when
the record is read, once in each system of units, so that a document keeps its words however the program speaks later.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from core.calc.bounds import Bound
from core.calc.units import UnitSystem


@dataclass(frozen=True, slots=True)
class UnitText:
    """A sentence as it reads in SI and in US customary units."""

    si: str
    us: str

    def in_units(self, units: str) -> str:
        """The sentence in the reader's units: si or us. Raises ValueError for any other."""
        return {UnitSystem.SI: self.si, UnitSystem.US: self.us}[UnitSystem(units)]


def in_both(say: Callable[[str], str]) -> UnitText:
    """The sentence that `say` gives, in either system."""
    return UnitText(say(UnitSystem.SI), say(UnitSystem.US))


@dataclass(frozen=True, slots=True)
class Money:
    """An amount with its currency's three-letter code."""

    amount: Decimal
    currency: str


def sums(amounts: Iterable[Money | None]) -> tuple[Money, ...]:
    """What known amounts add up to, each currency by itself; none where that is nothing."""
    totals: dict[str, Decimal] = defaultdict(Decimal)
    for money in amounts:
        if money is not None:
            totals[money.currency] += money.amount
    return tuple(Money(total, currency) for currency, total in sorted(totals.items()) if total)


@dataclass(frozen=True, slots=True)
class BoundedRate:
    """A rate, or only a bound of one."""

    rate_mm_h: float
    bound: Bound = Bound.EXACT


def grown(fields: dict[str, Any]) -> dict[str, Any]:
    """The step from a schema to one in which parts have only gained fields with a default."""
    return fields
