"""Workable days: not frozen, after leaf fall where trees stand, after winter grit."""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date, timedelta

from maintenance.calc.text import day as day_mark

LATEST_SHIFT_DAYS = 120
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Climate:
    """What the calendar does at a site. Months are numbers 1 to 12."""

    frost_months: Collection[int] = ()
    leaf_fall_months: Collection[int] = ()
    trees: bool = False
    winter_grit: bool = False

    def reason_against(self, day: date) -> str:
        """Why a cleaning on that day would be in vain, or an empty text."""
        if day.month in self.frost_months:
            return "frost, and grit still to come" if self.winter_grit else "frost"
        if self.trees and day.month in self.leaf_fall_months:
            return "leaves still falling"
        return ""


@dataclass(frozen=True, slots=True)
class Window:
    """Days between which the work fits. `reason` says why the due day was moved, or is empty."""

    earliest: date
    due: date
    reason: str = ""


def cleaning_window(due: date, today: date, climate: Climate) -> Window:
    """The due day, moved to a workable one: on past leaf fall or winter, else back before it.

    due: the day the surface wants cleaning. One in the past stays as it is, so that a person sees how late
    it is; the work itself is looked for from today on.
    Where the wait would exceed about four months, the last workable day before is taken.

    Source: seasons for sweeping (end of winter, after leaf fall): Minnesota Stormwater Manual,
    operation and maintenance of permeable pavement. The longest wait is our own choice.
    """
    wanted = max(due, today)
    why = climate.reason_against(wanted)
    if not why:
        return Window(_first_free(today, climate), due)
    later = _scan(wanted, ONE_DAY, lambda day: not climate.reason_against(day))
    earlier = _scan(wanted, -ONE_DAY, lambda day: not climate.reason_against(day))
    if later and (later - wanted).days <= LATEST_SHIFT_DAYS:
        return Window(
            later, later + timedelta(days=21), f"moved to {day_mark(later)}: {why} on {day_mark(wanted)}"
        )
    if earlier and earlier >= today:
        return Window(
            _first_free(today, climate),
            earlier,
            f"brought forward to {day_mark(earlier)}: {why} on {day_mark(wanted)}",
        )
    return Window(
        wanted, wanted, f"no workable day found near {day_mark(wanted)} ({why}); check the site's months"
    )


def testing_window(due: date, today: date, climate: Climate) -> Window:
    """The due day of a test, moved off frost: frozen ground says nothing of the rate."""
    return cleaning_window(due, today, Climate(climate.frost_months))


def _first_free(today: date, climate: Climate) -> date:
    return _scan(today, ONE_DAY, lambda day: not climate.reason_against(day)) or today


def _scan(start: date, step: timedelta, good: Callable[[date], bool]) -> date | None:
    day = start
    for _ in range(366):
        if good(day):
            return day
        day += step
    return None
