"""What an agreement asked for in a period against what was done: plain dates in, counts out."""

from bisect import bisect_right
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from core.calc.months import months_after
from reporting.calc.report_parts import AgreedCount


@dataclass(frozen=True, slots=True)
class Term:
    """How often something was agreed, and while it was in force. until: None without end."""

    per_year: float
    since: date
    until: date | None = None


@dataclass(frozen=True, slots=True)
class DoneAt:
    """What was done at one surface. term: as it holds there, from its opening at the earliest."""

    surface: str
    term: Term
    days: Collection[date]


def asked_between(term: Term, after: date, until: date) -> int:
    """How many fell due after one day and until another, that one among them.

    They fall due at even distances from the first day of the term on, by the calendar: of two a year the first half a
    year after it. So reports that follow each other leave none out and count none twice.
    """
    ends = until if term.until is None else min(until, term.until)
    return max(0, _asked_until(term, ends) - _asked_until(term, after))


def _asked_until(term: Term, day: date) -> int:
    if term.per_year <= 0 or day <= term.since:
        return 0
    most = int((day - term.since).days / 365.0 * term.per_year) + 2
    return bisect_right([_due(term, number) for number in range(1, most + 1)], day)


def _due(term: Term, number: int) -> date:
    return months_after(term.since, round(12 * number / term.per_year))


def agreed_count(surfaces: Iterable[DoneAt], after: date, until: date) -> AgreedCount:
    """All surfaces together. What one has more than was asked makes up for no other."""
    asked = done = more = 0
    behind = []
    for each in surfaces:
        due = asked_between(each.term, after, until)
        had = sum(after <= day <= until for day in each.days)
        asked, done, more = asked + due, done + min(due, had), more + max(0, had - due)
        if had < due:
            behind.append(each.surface)
    return AgreedCount(asked, done, more, tuple(behind))
