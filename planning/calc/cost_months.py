"""Cost and price by month and owner, from single pieces of work.

Price is what an owner pays, without tax where a quote adds it. Cost is what the work costs the firm: the crew's hours
at its cost of an hour, or what a subcontracted crew charges. Both are told apart everywhere.
"""

from calendar import monthrange
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeVar

from core.calc.choices import TextChoice
from core.calc.currency import rounded

MONTHS_A_YEAR = 12
MOST_MONTHS = 36  # in one table
K = TypeVar("K")
NOTHING = Decimal(0)


class Part(TextChoice):
    """Where an amount is from."""

    DONE = "done", "Done"
    AHEAD = "ahead", "Planned"
    AGREEMENT = "agreement", "Agreements"


@dataclass(frozen=True, slots=True)
class Entry:
    """One piece of work, or a month of an agreement. price, cost: None where not known."""

    month: date
    owner: str
    part: Part
    price: Decimal | None
    cost: Decimal | None


@dataclass(slots=True)
class Sum:
    """Of several entries. no_price, no_cost: how many of them have none, so that a sum is not taken for all of it."""

    price: Decimal = NOTHING
    cost: Decimal = NOTHING
    no_price: int = 0
    no_cost: int = 0

    def add(self, entry: Entry) -> None:
        """Take one more in."""
        self.price += entry.price or NOTHING
        self.cost += entry.cost or NOTHING
        self.no_price += entry.price is None
        self.no_cost += entry.cost is None and entry.part is not Part.AGREEMENT


@dataclass(frozen=True, slots=True)
class CostMonths:
    """All sums of a period. months: each of it, with work or without; cells: by month, owner and part, where any is."""

    months: Sequence[date]
    cells: Mapping[tuple[date, str, Part], Sum]
    total: Sum
    of_part: Mapping[Part, Sum]
    of_month: Mapping[date, Sum]
    by_part: Mapping[tuple[date, Part], Sum]
    by_owner: Mapping[tuple[str, date], Sum]

    @property
    def owners(self) -> list[str]:
        """Those with anything in the period, by name."""
        return sorted({owner for owner, _ in self.by_owner})


def cost_months(entries: Iterable[Entry], first: date, last: date) -> CostMonths:
    """The sums of the months from that of `first` to that of `last`; what lies outside is left out."""
    months = months_between(first, last)
    kept = [entry for entry in entries if months[0] <= entry.month <= months[-1]]
    cells = sums_by(kept, lambda e: (e.month, e.owner, e.part))
    return CostMonths(
        months=months,
        cells=dict(sorted(cells.items())),
        total=sums_by(kept, lambda e: True)[True],
        of_part=sums_by(kept, lambda e: e.part),
        of_month=sums_by(kept, lambda e: e.month),
        by_part=sums_by(kept, lambda e: (e.month, e.part)),
        by_owner=sums_by(kept, lambda e: (e.owner, e.month)),
    )


def sums_by(entries: Iterable[Entry], key: Callable[[Entry], K]) -> dict[K, Sum]:
    """What entries come to by a key; a key that none has reads as nothing."""
    found: dict[K, Sum] = defaultdict(Sum)
    for entry in entries:
        found[key(entry)].add(entry)
    return found


def month_of(day: date) -> date:
    """The first day of its month."""
    return day.replace(day=1)


def months_between(first: date, last: date) -> list[date]:
    """The first days of all months from one to the other, both in it."""
    start, end = (day.year * MONTHS_A_YEAR + day.month - 1 for day in (first, last))
    return [date(n // MONTHS_A_YEAR, n % MONTHS_A_YEAR + 1, 1) for n in range(start, end + 1)]


def agreed_in(month: date, price_a_year: Decimal, currency: str) -> Decimal:
    """A month's part of a yearly price; the twelve of a calendar year are the price to the smallest unit."""
    upto = [rounded(price_a_year * n / MONTHS_A_YEAR, currency) for n in (month.month - 1, month.month)]
    return upto[1] - upto[0]


def months_of_term(first: date, last: date, since: date | None, until: date | None) -> Iterable[date]:
    """Those months from one to the other that a term pays for: each in which a month of the term begins.

    A year from 15 March to 14 March has twelve of them. since, until: the first and last day, None for no such day.
    """
    for month in months_between(first, last):
        length = monthrange(month.year, month.month)[1]
        begins = month.replace(day=min(since.day, length)) if since else month
        if (since is None or begins >= since) and (until is None or begins <= until):
            yield month


def even_shares(whole: Decimal, number: int, currency: str) -> list[Decimal]:
    """A sum in equal parts, none off by a whole coin."""
    return list(shares_of(whole, dict.fromkeys(range(number), NOTHING), currency).values())


def shares_of(whole: Decimal, amounts: Mapping[K, Decimal], currency: str) -> dict[K, Decimal]:
    """A sum divided in proportion to amounts, such as a call-out among the works it serves; nothing is lost.

    Where they come to 0 it is divided evenly. Each share is off by less than the smallest coin, and none
    has another sign than the whole: what is rounded is how much the works up to each one take together.
    """
    if not sum(amounts.values()):
        amounts = dict.fromkeys(amounts, Decimal(1))
    total, passed, taken, given = sum(amounts.values(), NOTHING), NOTHING, NOTHING, {}
    for key, amount in amounts.items():
        passed += amount
        upto = whole if passed == total else rounded(whole * passed / total, currency)
        given[key], taken = upto - taken, upto
    return given


def crew_cost(
    hours: float | None, hour_cost: Decimal, charged_m2: Decimal | None, area_m2: float | None, currency: str
) -> Decimal | None:
    """What a piece of work costs the firm; None where nobody knows its hours, or the area that is charged.

    charged_m2: what a subcontracted crew charges for each square metre, None for a crew of the firm's own.
    """
    if charged_m2 is not None:
        return None if area_m2 is None else rounded(charged_m2 * Decimal(repr(area_m2)), currency)
    return None if hours is None else rounded(hour_cost * Decimal(repr(hours)), currency)
