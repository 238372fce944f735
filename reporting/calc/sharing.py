"""What is behind a secret link, how long one may open, and which reports fall due by an agreement."""

from collections.abc import Collection
from datetime import date, timedelta
from typing import NamedTuple

from core.calc.choices import TextChoice
from core.calc.months import months_after

USUAL_DAYS = 90  # that a link opens, unless the person chooses another day
MOST_DAYS = 730
MOST_SITES = 60  # behind one link: each is a part of one page
MOST_ADDRESSES = 20  # that one sending may have


class LinkPart(TextChoice):
    """What of a link was opened."""

    PAGE = "page", "Page"
    PAPER = "paper", "PDF of the document"
    CERTIFICATE = "certificate", "Test certificate"
    ROWS = "rows", "Rows as CSV"


class LinkState(TextChoice):
    """Whether a link opens, and why not."""

    OPEN = "open", "Opens"
    UNSEEN = "unseen", "Its address was not made yet"
    EXPIRED = "expired", "Expired"
    REVOKED = "revoked", "Revoked"
    WITHDRAWN = "withdrawn", "Its document was withdrawn"


class DueState(TextChoice):
    """What became of a report that fell due by an agreement."""

    OPEN = "open", "To be sent"
    SENT = "sent", "Sent"
    SKIPPED = "skipped", "Not sent this time"
    REPLACED = "replaced", "Replaced by the next one"


class Terms(NamedTuple):
    """From when to when an agreement asks for reports, and in which months. until: None without end."""

    months: Collection[int]
    since: date
    until: date | None


def latest_due_month(terms: Terms, today: date) -> date | None:
    """The first day of the latest report month that has begun; None where none has since the agreement began.

    Only the latest: what was missed for a year is one report, not twelve.
    """
    first = today.replace(day=1)
    begun = (months_after(first, -back) for back in range(12))
    latest = next((month for month in begun if month.month in terms.months), None)
    if latest is None or latest < terms.since or (terms.until and latest > terms.until):
        return None
    return latest


def report_since(last_until: date | None, months: Collection[int], today: date) -> date:
    """The first day that a due report covers: where the last one ended, else one of n equal parts of a year ago.

    The last day of the one before is covered again, since work of that day may have been recorded after it was sent.
    """
    if last_until is not None and last_until <= today:
        return last_until
    return months_after(today, -(12 // max(1, len(months))))


def last_day_at_most(today: date) -> date:
    """The latest day until which a link made today may open."""
    return today + timedelta(days=MOST_DAYS)
