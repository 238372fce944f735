"""Which of the backups of the nights are kept: many young ones, a few old ones.

Grandfather, father, son, as it is called where tapes are kept; the numbers are common practice, without a source.
"""

from collections.abc import Callable, Collection, Hashable
from datetime import date

DAYS, WEEKS, MONTHS = 7, 4, 12


def _of_day(day: date) -> Hashable:
    return day


def _of_week(day: date) -> Hashable:
    return day.isocalendar()[:2]


def _of_month(day: date) -> Hashable:
    return day.year, day.month


RULES: tuple[tuple[Callable[[date], Hashable], int], ...] = (
    (_of_day, DAYS),
    (_of_week, WEEKS),
    (_of_month, MONTHS),
)


def kept(days: Collection[date]) -> set[date]:
    """The days whose backup is kept: the last of each of the newest 7 days, 4 weeks and 12 months that have one.

    Counted among the backups that there are, not by today's date: where none was made for a year, none goes. The
    newest is always among them.
    """
    return {day for period, count in RULES for day in _last_of_each(days, period, count)}


def _last_of_each(days: Collection[date], period: Callable[[date], Hashable], count: int) -> list[date]:
    last = {period(day): day for day in sorted(days)}
    return sorted(last.values())[-count:]
