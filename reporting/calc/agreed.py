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
    """What was done at one surface. term: as it holds there, from its opening at the earliest; days: since it began."""

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
    """All surfaces together. What one has more than was asked makes up for no other.

    What was done before it fell due is carried over, so that work done early is not missing from the next report; what
    was missing before is not asked for a second time.
    """
    asked = done = more = 0
    behind = []
    for each in surfaces:
        due = asked_between(each.term, after, until)
        had = _carried(each, after) + sum(after < day <= until for day in each.days)
        asked, done, more = asked + due, done + min(due, had), more + max(0, had - due)
        if had < due:
            behind.append(each.surface)
    return AgreedCount(asked, done, more, tuple(behind))


def _carried(each: DoneAt, day: date) -> int:
    """How many were done by a day beyond what had fallen due by then."""
    done = sum(each.term.since <= on <= day for on in each.days)
    return max(0, done - _asked_until(each.term, day))
