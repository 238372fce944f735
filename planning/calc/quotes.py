"""What a quote comes to: lines from advice and a price list, and the sums with their tax.

Every amount is rounded to the currency's smallest unit by `core.calc.currency.rounded`, line by line, and the tax once
on the sum of the lines. Common practice, no source; how a tax authority wants it rounded is a matter of the local law.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from core.calc.choices import TextChoice
from core.calc.currency import rounded
from core.calc.units import Quantity, UnitSystem, price_to_display, to_display
from planning.calc.vocabulary import ApprovalState

HUNDRED = Decimal(100)
STEP = Decimal("0.01")  # of a m², ft², kg or lb: what a quoted area or mass is rounded to


class QuoteUnit(TextChoice):
    """What a line is counted in."""

    M2 = "m2", "m²"
    FT2 = "ft2", "ft²"
    ROUND = "round", "test round"
    INSPECTION = "inspection", "inspection"
    CALL_OUT = "call_out", "call-out"
    KG = "kg", "kg"
    LB = "lb", "lb"
    HOUR = "hour", "h"
    LUMP_SUM = "lump_sum", "lump sum"


@dataclass(frozen=True, slots=True)
class Tax:
    """What is charged on the prices, or held in them."""

    name: str
    percent: Decimal
    is_included: bool


@dataclass(frozen=True, slots=True)
class Sums:
    """What the lines come to. net + tax is the total, always."""

    net: Decimal
    tax: Decimal
    total: Decimal


def amount_of(quantity: Decimal, unit_price: Decimal, currency: str) -> Decimal:
    """The amount of one line."""
    return rounded(quantity * unit_price, currency)


def sums_of(amounts: Iterable[Decimal], tax: Tax, currency: str) -> Sums:
    """Net, tax and total of rounded amounts."""
    listed = rounded(sum(amounts, Decimal(0)), currency)
    if tax.is_included:
        held = rounded(listed * tax.percent / (HUNDRED + tax.percent), currency)
        return Sums(listed - held, held, listed)
    added = rounded(listed * tax.percent / HUNDRED, currency)
    return Sums(listed, added, listed + added)


@dataclass(frozen=True, slots=True)
class Asked:
    """A piece of work to be priced by area, as its line counts it. key: names the site and the way of cleaning."""

    key: tuple[str, str]
    area: Decimal
    unit_price: Decimal
    minimum: Decimal


def up_to_minimum(work: Sequence[Asked], currency: str) -> dict[tuple[str, str], Decimal]:
    """What is to be added so that each site and way of cleaning comes to the minimum; nothing where it does."""
    by_area: dict[tuple[str, str], Decimal] = {}
    for each in work:
        by_area[each.key] = by_area.get(each.key, Decimal(0)) + amount_of(
            each.area, each.unit_price, currency
        )
    least = {each.key: rounded(each.minimum, currency) for each in work}
    return {key: least[key] - amount for key, amount in by_area.items() if amount < least[key]}


@dataclass(frozen=True, slots=True)
class Counting:
    """How lines count what a price is given for: its units, and those of the price of each of them."""

    quantity: Quantity
    price: Quantity
    units: tuple[QuoteUnit, QuoteUnit]  # SI, US customary

    def unit(self, system: UnitSystem) -> QuoteUnit:
        """The unit of a line."""
        return self.units[system is UnitSystem.US]

    def number(self, value_si: float, system: UnitSystem) -> Decimal:
        """An area in m² or a mass in kg as a line counts it."""
        shown = to_display(value_si, self.quantity, system).value
        return Decimal(repr(shown)).quantize(STEP, ROUND_HALF_UP)

    def price_of(self, price_si: Decimal, system: UnitSystem) -> Decimal:
        """A price for each m² or kg as one for each unit of a line, as it was typed there."""
        return price_si if system is UnitSystem.SI else price_to_display(price_si, self.price, system)


BY_AREA = Counting(Quantity.AREA, Quantity.PRICE_BY_AREA, (QuoteUnit.M2, QuoteUnit.FT2))
BY_MASS = Counting(Quantity.MASS, Quantity.PRICE_BY_MASS, (QuoteUnit.KG, QuoteUnit.LB))


def approval_state(price: Decimal | None, above: Decimal | None, *, is_approved: bool) -> ApprovalState:
    """Whether work of that price has its owner's approval, or waits for it. above: the firm's sum, None for none."""
    if is_approved:
        return ApprovalState.APPROVED
    waits = above is not None and price is not None and price > above
    return ApprovalState.NEEDED if waits else ApprovalState.NONE


def number_words(year: int, number: int) -> str:
    """How a quote is named: the year and its running number in it."""
    return f"{year}-{number:04}"
