"""Workable days: not frozen, after leaf fall where trees stand, after winter grit."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from typing import NamedTuple

from core.calc.months import months_after
from core.calc.paving import CleaningMethod
from core.calc.translation import gettext_noop
from maintenance.calc.text import day as day_mark
from maintenance.calc.text import hindrance

LATEST_SHIFT_DAYS = 120
ONE_DAY = timedelta(days=1)
HOURS_A_DAY = 8.0
WORKING_DAYS_A_WEEK = 5
FROST = gettext_noop("frost")
FROST_AND_GRIT = gettext_noop("frost, and grit still to come")
LEAF_FALL = gettext_noop("leaves still falling")
TOO_COLD = gettext_noop("too cold for resin beside the frost")
MOVED = gettext_noop("The day was moved to {day1}: {hindrance1} on {day2}.")
BROUGHT_FORWARD = gettext_noop("The day was brought forward to {day1}: {hindrance1} on {day2}.")
NONE_FOUND = gettext_noop(
    "The day was no workable day found near {day1} ({hindrance1}); check the site's months."
)


@dataclass(frozen=True, slots=True)
class Climate:
    """What the calendar does at a site. Months are numbers 1 to 12."""

    frost_months: Collection[int] = ()
    leaf_fall_months: Collection[int] = ()
    trees: bool = False
    winter_grit: bool = False

    def closed_months(self) -> frozenset[int]:
        """Months in which no cleaning is begun."""
        return frozenset(self.frost_months) | frozenset(self.leaf_fall_months if self.trees else ())

    def reason_against(self, day: date) -> str:
        """Why a cleaning on that day would be in vain, or an empty text."""
        if day.month in self.frost_months:
            return FROST_AND_GRIT if self.winter_grit else FROST
        if self.trees and day.month in self.leaf_fall_months:
            return LEAF_FALL
        return ""


def job_days(hours: float) -> int:
    """Calendar days from the first to the last of a job of so many crew hours, weekends among them; at least 1."""
    working = max(1, ceil(hours / HOURS_A_DAY - 1e-9))
    return working + 2 * ((working - 1) // WORKING_DAYS_A_WEEK)


def cold_months(method: CleaningMethod, frost_months: Collection[int]) -> frozenset[int]:
    """Months too cold for a method: resin is not placed in the month before frost and the one after. Our judgement."""
    if method is not CleaningMethod.REJOINT_RESIN:
        return frozenset()
    beside = {(month + shift - 1) % 12 + 1 for month in frost_months for shift in (-1, 1)}
    return frozenset(beside | set(frost_months))


@dataclass(frozen=True, slots=True)
class Window:
    """Days between which the work fits. `reason` says for `text.speak` why the due day was moved, or is empty."""

    earliest: date
    due: date
    reason: str = ""


def cleaning_window(
    due: date, today: date, climate: Climate, hours: float = 0.0, method: CleaningMethod | None = None
) -> Window:
    """The due day, moved to a workable one: on past leaf fall or winter, else back before it.

    due: the day the surface wants cleaning. One in the past stays as it is, so that a person sees how late
    it is; the work itself is looked for from today on. hours: of the crew, so that a long job is begun where it can
    be ended before frost or leaf fall; resin also keeps off the months beside frost.
    Where the wait would exceed about four months, the last workable day before is taken if it is still ahead.

    Source: seasons for sweeping (end of winter, after leaf fall): Minnesota Stormwater Manual,
    operation and maintenance of permeable pavement. The longest wait is our own choice.
    """
    wanted = max(due, today)
    against = _reasons(climate, hours, method)
    why = against(wanted)
    if not why:
        return Window(_first_free(today, against), due)
    later = _scan(wanted, ONE_DAY, lambda day: not against(day))
    earlier = _scan(wanted, -ONE_DAY, lambda day: not against(day))
    brought_forward = earlier is not None and earlier >= today
    if later and ((later - wanted).days <= LATEST_SHIFT_DAYS or not brought_forward):
        return Window(later, later + timedelta(days=21), _said(MOVED, why, later, wanted))
    if earlier and brought_forward:
        return Window(_first_free(today, against), earlier, _said(BROUGHT_FORWARD, why, earlier, wanted))
    return Window(wanted, wanted, _said(NONE_FOUND, why, wanted))


def _said(sentence: str, why: "_Why", *days: date) -> str:
    named = {f"day{place}": day_mark(on) for place, on in enumerate(days, start=1)}
    return sentence.format(hindrance1=hindrance(why.reason, why.days), **named)


def workable_on(day: date, climate: Climate, method: CleaningMethod, hours: float = 0.0) -> bool:
    """Whether a job by this method may be begun on a day: not in frost or leaf fall, nor too cold for what it needs."""
    return not _reasons(climate, hours, method)(day)


def season_end(day: date, climate: Climate, method: CleaningMethod) -> tuple[date, str] | None:
    """The last day of the season that a day lies in, and what ends it; the day before, where the season is over.

    None where nothing ends it.
    """
    against = _reasons(climate, 0.0, method)
    closed = _scan(day, ONE_DAY, lambda each: bool(against(each)))
    return (closed - ONE_DAY, against(closed).reason) if closed else None


class _Why(NamedTuple):
    """Why a job would be in vain; empty where it would not. days: it takes, where it would meet that before its end."""

    reason: str
    days: int = 0

    def __bool__(self) -> bool:
        return bool(self.reason)


def _reasons(climate: Climate, hours: float, method: CleaningMethod | None) -> Callable[[date], _Why]:
    """Why a job begun on a day would be in vain: closed then, or before it ends; too cold for the method."""
    cold = cold_months(method, climate.frost_months) if method else frozenset()
    days = min(job_days(hours), _season_days(climate.closed_months() | cold))

    def why_not(on: date) -> str:
        return climate.reason_against(on) or (TOO_COLD if on.month in cold else "")

    def against(begun: date) -> _Why:
        if why := why_not(begun):
            return _Why(why)
        return _Why(
            next((why for first in _months_reached(begun, days) if (why := why_not(first))), ""), days
        )

    return against


def _months_reached(begun: date, days: int) -> Iterator[date]:
    """The first days of the later months that a job of so many days lasts into."""
    ends, first = begun + timedelta(days=days - 1), months_after(begun.replace(day=1), 1)
    while first <= ends:
        yield first
        first = months_after(first, 1)


def _season_days(closed: Collection[int]) -> int:
    """The longest run of open months, about: a job that outlasts it is done in parts."""
    months = [month not in closed for month in range(1, 13)] * 2
    longest = run = 0
    for is_open in months:
        run = run + 1 if is_open else 0
        longest = max(longest, run)
    return max(1, 28 * min(longest, 12))


def testing_window(due: date, today: date, climate: Climate) -> Window:
    """The due day of a test, moved off frost: frozen ground says nothing of the rate."""
    return cleaning_window(due, today, Climate(climate.frost_months))


def _first_free(today: date, against: Callable[[date], _Why]) -> date:
    return _scan(today, ONE_DAY, lambda day: not against(day)) or today


def _scan(start: date, step: timedelta, good: Callable[[date], bool]) -> date | None:
    day = start
    for _ in range(366):
        if good(day):
            return day
        day += step
    return None
