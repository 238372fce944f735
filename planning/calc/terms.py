"""The term of an agreement: when it ends, renews, and when notice of it is due."""

from datetime import date, timedelta

from core.calc.months import months_after


def term_end(until: date | None, renews: bool, today: date) -> date | None:
    """The last day of the term that runs today, or ran last; None without end.

    renews: a term that passed its last day goes on by a year each time.
    """
    if until is None or not renews:
        return until
    years = 0
    while (end := months_after(until, 12 * years)) < today:
        years += 1
    return end


def notice_day(end: date, notice_days: int) -> date:
    """The last day on which notice can be given."""
    return end - timedelta(days=notice_days)
