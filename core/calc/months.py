"""Months of the year, as a site's climate and an agreement's reports name them."""

from calendar import monthrange
from datetime import date
from typing import ClassVar

from core.calc.calendar_numbers import CalendarNumbers
from core.calc.translation import gettext_noop


class Months(CalendarNumbers):
    """Month numbers from 1 to 12, each once. Raises ValueError for others."""

    __slots__ = ()
    LAST: ClassVar[int] = 12
    WRONG: ClassVar[str] = gettext_noop(
        "%(given)r is not a list of months; give month numbers from 1 to 12, each once."
    )


def no_months() -> dict[str, object]:
    """What is stored where no month is named."""
    return Months().to_json()


def months_after(day: date, months: int) -> date:
    """The same day of the month so many months on, or the last of a month that has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
