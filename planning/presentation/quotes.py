"""Quotes in words: how they stand, their lines, what the owner said."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from core.calc.format import NOTHING, day, price
from core.calc.marks import marked
from core.calc.units import UnitSystem, from_display, to_display
from maintenance.presentation.prices import percent_words, unit_price
from planning.calc.quotes import BY_AREA, BY_MASS, QuoteUnit, Sums, Tax
from planning.calc.vocabulary import QuoteState
from planning.models import QuoteLine, QuoteVersion

COUNTED = {
    unit: (counting.quantity, system)
    for counting in (BY_AREA, BY_MASS)
    for unit, system in zip(counting.units, (UnitSystem.SI, UnitSystem.US), strict=True)
}


@dataclass(frozen=True, slots=True)
class QuoteRow:
    """One quote in a list."""

    row: QuoteVersion
    state: str
    look: str
    total: str
    said: str


@dataclass(frozen=True, slots=True)
class LineWords:
    """One line as people read it."""

    what: str
    why: str
    quantity: str
    unit_price: str
    amount: str


def quote_rows(versions: Iterable[QuoteVersion], today: Mapping[UUID, date]) -> list[QuoteRow]:
    """A list of quotes. today: the calendar day of each firm."""
    return [_row(version, version.state_on(today[version.quote.organisation_id])) for version in versions]


def _row(version: QuoteVersion, state: QuoteState) -> QuoteRow:
    total = price(version.total, version.currency)
    return QuoteRow(
        version, state.label.lower(), state.look, total, answer_words(version) or _until(version, state)
    )


def _until(version: QuoteVersion, state: QuoteState) -> str:
    if state not in (QuoteState.SENT, QuoteState.EXPIRED):
        return ""
    expired = state is QuoteState.EXPIRED
    until = _("could be answered until {day}") if expired else _("can be answered until {day}")
    return until.format(day=day(version.valid_until))


def answer_words(version: QuoteVersion) -> str:
    """Who approved or declined it, and on which day; empty where nobody did."""
    if version.decided_on is None:
        return ""
    said = QuoteState(version.state).label.lower()
    # Translators: state is "approved" or "declined".
    answered = _("{state} by {who} on {day}")
    return answered.format(state=said, who=version.decider, day=day(version.decided_on))


def cited_answer(version: QuoteVersion | None, today: date) -> str:
    """The answer with the quote it was given to: "approved by ... on ..., quote 2026-0012 v2"."""
    if version is None:
        return ""
    name = str(version)
    named = name[:1].lower() + name[1:]
    if version.decided_on:
        return f"{answer_words(version)}, {named}"
    state = version.state_on(today)
    if state.waits:
        return _("{quote} waits for the owner's answer").format(quote=named)
    return f"{named} {_until(version, state)}"


def line_words(lines: Sequence[QuoteLine], currency: str, units: str) -> list[LineWords]:
    """The lines of a version."""
    return [
        LineWords(
            line.what,
            line.why,
            quantity_words(line.quantity, QuoteUnit(line.unit), units),
            NOTHING if line.unit_price is None else unit_price(line.unit_price, currency),
            NOTHING if line.unit_price is None else price(line.amount_in(currency), currency),
        )
        for line in lines
    ]


def quantity_words(quantity: Decimal, unit: QuoteUnit, units: str) -> str:
    """What is charged for, in its own unit; for readers in other units with the area or weight in theirs beside it."""
    number = marked(f"{quantity:,.2f}".rstrip("0").rstrip("."))
    reader, counted = UnitSystem(units), COUNTED.get(unit)
    if counted is None or counted[1] is reader:
        return f"{number} {unit.label}"
    value_si = from_display(float(quantity), *counted)
    return f"{number} {unit.label} ({to_display(value_si, counted[0], reader)})"


def sum_words(sums: Sums, tax: Tax, currency: str) -> list[tuple[str, str]]:
    """What the lines come to, with the tax."""
    total = (pgettext("of a quote", "Total"), price(sums.total, currency))
    if not tax.percent:
        return [total]
    named = f"{tax.name} {percent_words(tax.percent)}"
    held = _("{tax}, included").format(tax=named) if tax.is_included else named
    return [
        (pgettext("without tax", "Net"), price(sums.net, currency)),
        (held, price(sums.tax, currency)),
        total,
    ]
