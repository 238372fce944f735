"""What a quote comes to: lines from advice and a price list, and the sums with their tax.

Every amount is rounded to the currency's smallest unit by `core.calc.currency.rounded`, line by line, and the tax once
on the sum of the lines. Common practice, no source; how a tax authority wants it rounded is a matter of the local law.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from core.calc.choices import TextChoice
from core.calc.currency import rounded
from planning.calc.vocabulary import ApprovalState

HUNDRED = Decimal(100)
AREA_STEP = Decimal("0.01")  # of a square metre: what a quoted area is rounded to


class QuoteUnit(TextChoice):
    """What a line is counted in."""

    M2 = "m2", "m²"
    ROUND = "round", "test round"
    INSPECTION = "inspection", "inspection"
    CALL_OUT = "call_out", "call-out"
    KG = "kg", "kg"
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
    """A piece of work to be priced by area. key: names the site and the way of cleaning."""

    key: tuple[str, str]
    area_m2: Decimal
    per_m2: Decimal
    minimum: Decimal


def up_to_minimum(work: Sequence[Asked], currency: str) -> dict[tuple[str, str], Decimal]:
    """What is to be added so that each site and way of cleaning comes to the minimum; nothing where it does."""
    by_area: dict[tuple[str, str], Decimal] = {}
    for each in work:
        by_area[each.key] = by_area.get(each.key, Decimal(0)) + amount_of(each.area_m2, each.per_m2, currency)
    least = {each.key: rounded(each.minimum, currency) for each in work}
    return {key: least[key] - amount for key, amount in by_area.items() if amount < least[key]}


def area_of(area_m2: float) -> Decimal:
    """An area as a quote counts it."""
    return Decimal(repr(area_m2)).quantize(AREA_STEP, ROUND_HALF_UP)


def approval_state(price: Decimal | None, above: Decimal | None, *, is_approved: bool) -> ApprovalState:
    """Whether work of that price has its owner's approval, or waits for it. above: the firm's sum, None for none."""
    if is_approved:
        return ApprovalState.APPROVED
    waits = above is not None and price is not None and price > above
    return ApprovalState.NEEDED if waits else ApprovalState.NONE


def number_words(year: int, number: int) -> str:
    """How a quote is named: the year and its running number in it."""
    return f"{year}-{number:04}"
