"""A version of a quote as typed plain data, for its paper."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from accounts.calc.audience import Audience
from planning.calc.quotes import QuoteUnit, Sums, Tax
from planning.calc.vocabulary import QuoteState


@dataclass(frozen=True, slots=True)
class QuotedLine:
    """One line. unit_price: None while a draft has none."""

    what: str
    why: str
    quantity: Decimal
    unit: QuoteUnit
    unit_price: Decimal | None
    amount: Decimal


@dataclass(frozen=True, slots=True)
class QuoteSnapshot:
    """Everything its paper says. answered: by whom and when, empty where nobody did or the reader may not know names.

    on: the day it was sent, or the day of the paper while it is a draft.
    """

    audience: Audience
    name: str
    firm: str
    owner: str
    owner_address: str
    sites: tuple[str, ...]
    state: QuoteState
    on: date
    valid_until: date
    lines: tuple[QuotedLine, ...]
    sums: Sums
    tax: Tax
    currency: str
    note: str
    answered: str
    demo_notice: str
