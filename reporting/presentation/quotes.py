"""A quote as text for its paper."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import NOTHING, day, price
from maintenance.presentation.prices import unit_price
from planning.calc.vocabulary import QuoteState
from planning.presentation.quotes import quantity_words, sum_words
from reporting.calc.quotes import QuotedLine, QuoteSnapshot
from reporting.presentation.pdf import Paper

TONES: Mapping[QuoteState, str] = {
    QuoteState.APPROVED: "passed",
    QuoteState.DECLINED: "failed",
    QuoteState.SENT: "partly",
}
NOTES = (
    gettext_noop(
        "Local codes and the stormwater authority prevail; design and acceptance belong to licensed professionals."
    ),
    gettext_noop(
        "Areas are those on record. What was advised rests on tests, which speak for their spot and day."
    ),
)


def quote_words(snapshot: QuoteSnapshot, units: str) -> dict[str, Any]:
    """What the paper says, in the reader's units and on the sheet usual with them."""
    return {
        "units": units,
        "name": snapshot.name,
        "firm": snapshot.firm,
        "owner": snapshot.owner,
        "address": snapshot.owner_address,
        "sites": ", ".join(snapshot.sites),
        "state": " ".join(filter(None, (snapshot.state.label, snapshot.answered))),
        "tone": TONES.get(snapshot.state, "open"),
        "on": day(snapshot.on),
        "valid_until": day(snapshot.valid_until),
        "is_draft": snapshot.state is QuoteState.DRAFT,
        "lines": [_line(line, snapshot.currency, units) for line in snapshot.lines],
        "sums": [list(pair) for pair in sum_words(snapshot.sums, snapshot.tax, snapshot.currency)],
        "note": snapshot.note,
        "notes": [_(note) for note in NOTES],
        "demo_notice": snapshot.demo_notice,
    }


def _line(line: QuotedLine, currency: str, units: str) -> dict[str, str]:
    return {
        "what": line.what,
        "why": line.why,
        "quantity": quantity_words(line.quantity, line.unit, units),
        "unit_price": NOTHING if line.unit_price is None else unit_price(line.unit_price, currency),
        "amount": NOTHING if line.unit_price is None else price(line.amount, currency),
    }


def quote_paper(snapshot: QuoteSnapshot, words: Mapping[str, Any]) -> Paper:
    """The quote as a paper, in the units of its words."""
    return Paper("quote.typ", dict(words) | {"made": [snapshot.on.year, snapshot.on.month, snapshot.on.day]})
