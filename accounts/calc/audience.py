"""Who a page or a document is made for, and what each of them may read. Decided here and nowhere else.

Whether a person may open a row at all is another question: `accounts.models.tenancy` answers it.
"""

from collections.abc import Mapping
from typing import TypeVar

from core.calc.choices import TextChoice

T = TypeVar("T")


class Audience(TextChoice):
    """Whom something is made for."""

    FIRM = "firm", "People of the firm"
    OWNER = "owner", "People of the owner"
    LINK = "link", "Whoever is given a link, such as an inspector"

    def sees(self, matter: "Matter") -> bool:
        """Whether they may read it."""
        return self in SEEN_BY[matter]

    def shown(self, matter: "Matter", value: T, otherwise: T) -> T:
        """What they are given: the value where they may read it, else what stands in its place."""
        return value if self.sees(matter) else otherwise


class Matter(TextChoice):
    """What not everybody may read."""

    NOTES = "notes", "The firm's own notes on surfaces, sites, owners, rounds, tests and cleanings"
    ACCESS = "access", "How to get in"
    SET_ASIDE_FILES = "set_aside_files", "Photos and files that were set aside"
    INTERNAL_REASONS = "internal_reasons", "Why a file was set aside, or advice was decided as it was"
    DATA_QUALITY = "data_quality", "What looks odd in the record"
    COMPARED_PRICES = "compared_prices", "What each way of cleaning would cost"
    CREWS = "crews", "Which crew goes"
    VISITS = "visits", "On which days and at what hours somebody comes, and what for"
    COSTS = (
        "costs",
        "What work costs the firm in money and hours, and what clogs or lasts in all it looks after",
    )
    MESSAGE_MAILS = "message_mails", "How the mails about questions and answers stand"
    QUOTES = "quotes", "Quotes that await an answer"
    OWNERS_PEOPLE = "owners_people", "Who reads along for an owner"
    PRICES = "prices", "What was spent, and what advised work is expected to cost"
    AGREEMENT = "agreement", "What was agreed"
    UNRELEASED_ADVICE = "unreleased_advice", "Advice as it stands, which the office has not released"
    UNDECIDED_ADVICE = "undecided_advice", "Released advice that no visit is planned for yet"
    COMPARISON = "comparison", "What each way of cleaning would give, and at which chance the firm acts"
    PEOPLE = "people", "Names of those who measured, checked, built and cleaned"
    SET_ASIDE_RECORDS = "set_aside_records", "Records that were set aside or replaced, with the reason"
    REMARKS = "remarks", "Remarks on construction checks"
    CALCULATION = "calculation", "Whether the forecast is being updated, or could not be made"


_FIRM = frozenset({Audience.FIRM})
_FIRM_AND_OWNER = frozenset({Audience.FIRM, Audience.OWNER})

# The owner pays, and reads what is done, by whom, at what price, and what comes next once the office has released it.
# An inspector reads dates, methods, results against the limit and what was done about them, of records that count.
SEEN_BY: Mapping[Matter, frozenset[Audience]] = {
    Matter.NOTES: _FIRM,
    Matter.ACCESS: _FIRM,
    Matter.SET_ASIDE_FILES: _FIRM,
    Matter.INTERNAL_REASONS: _FIRM,
    Matter.DATA_QUALITY: _FIRM,
    Matter.COMPARED_PRICES: _FIRM,
    Matter.CREWS: _FIRM,
    Matter.VISITS: _FIRM_AND_OWNER,
    Matter.COSTS: _FIRM,
    Matter.MESSAGE_MAILS: _FIRM,
    Matter.QUOTES: _FIRM_AND_OWNER,
    Matter.OWNERS_PEOPLE: _FIRM,
    Matter.PRICES: _FIRM_AND_OWNER,
    Matter.AGREEMENT: _FIRM_AND_OWNER,
    Matter.UNRELEASED_ADVICE: _FIRM,
    Matter.UNDECIDED_ADVICE: _FIRM_AND_OWNER,
    Matter.COMPARISON: _FIRM,
    Matter.PEOPLE: _FIRM_AND_OWNER,
    Matter.SET_ASIDE_RECORDS: _FIRM_AND_OWNER,
    Matter.REMARKS: _FIRM_AND_OWNER,
    Matter.CALCULATION: _FIRM_AND_OWNER,
}
