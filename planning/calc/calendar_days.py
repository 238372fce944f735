"""Which days a calendar shows: whole weeks of a month, a week, a day, or four weeks as a list."""

from dataclasses import dataclass
from datetime import date, timedelta

from core.calc.choices import TextChoice
from core.calc.months import months_after

DAY = timedelta(days=1)
LISTED_DAYS = 28
FIRST, LAST = date(1970, 1, 1), date(2199, 12, 31)  # what may be asked for


class View(TextChoice):
    """How much of the calendar is shown."""

    MONTH = "month", "Month"
    WEEK = "week", "Week"
    DAY = "day", "Day"
    LIST = "list", "List"


@dataclass(frozen=True, slots=True)
class Span:
    """The days of a view. first, last: shown, both included; before, after: where the neighbouring views are."""

    view: View
    on: date
    first: date
    last: date
    before: date
    after: date

    @property
    def days(self) -> tuple[date, ...]:
        """Every day of it."""
        return tuple(self.first + n * DAY for n in range((self.last - self.first).days + 1))

    @property
    def weeks(self) -> tuple[tuple[date, ...], ...]:
        """The days by sevens."""
        days = self.days
        return tuple(days[n : n + 7] for n in range(0, len(days), 7))

    def holds(self, day: date) -> bool:
        """Whether a day belongs to what was asked for, and is not one of a neighbouring month."""
        return self.view is not View.MONTH or (day.year, day.month) == (self.on.year, self.on.month)


def span_of(view: View, on: date) -> Span:
    """The days around one day; a day beyond what a calendar may be asked for counts as the nearest within."""
    on = min(max(on, FIRST), LAST)
    if view is View.MONTH:
        return _month(on)
    if view is View.WEEK:
        monday = _monday(on)
        return Span(view, on, monday, monday + 6 * DAY, on - 7 * DAY, on + 7 * DAY)
    if view is View.DAY:
        return Span(view, on, on, on, on - DAY, on + DAY)
    end = on + (LISTED_DAYS - 1) * DAY
    return Span(view, on, on, end, on - LISTED_DAYS * DAY, on + LISTED_DAYS * DAY)


def _month(on: date) -> Span:
    first = on.replace(day=1)
    last = months_after(first, 1) - DAY
    return Span(
        View.MONTH,
        on,
        _monday(first),
        _monday(last) + 6 * DAY,
        months_after(first, -1),
        months_after(first, 1),
    )


def _monday(day: date) -> date:
    return day - day.weekday() * DAY
