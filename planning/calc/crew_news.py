"""What of a visit is new to somebody of a crew: the day they were told against the day as it stands."""

from datetime import date

from core.calc.format import day as day_text
from core.calc.format import weekday
from core.calc.translation import gettext as _

NO_DAY = "-"


def news_in_words(was: date | None, on: date | None, *, is_cancelled: bool, sites: str) -> str:
    """One sentence; empty where nothing is new. was: the day told before, on: as it stands, None for no day of theirs.

    sites: their names.
    """
    said = _sentence(was, on, is_cancelled=is_cancelled)
    if said and sites:
        # Translators: a sentence about a day without its full stop, and the sites it is about.
        said = _("{what}: {sites}").format(what=said, sites=sites)
    return said and f"{said}."


def _sentence(was: date | None, on: date | None, *, is_cancelled: bool) -> str:
    """What is new, without its full stop; empty where nothing is."""
    if was == on:
        return ""
    if was is None:
        return _("You go out on {day}").format(day=_day(on))
    if on is not None:
        return _("Your visit on {was} is moved to {day}").format(was=_day(was), day=_day(on))
    if is_cancelled:
        return _("Your visit on {day} is cancelled").format(day=_day(was))
    return _("Your visit on {day} is no longer yours").format(day=_day(was))


def mark_of(count: int, on: date | None) -> str:
    """How a telling is known again: the how manieth it is, and the day that it told."""
    return f"{count} {on.isoformat() if on else NO_DAY}"


def day_of(mark: str) -> date | None:
    """The day that a telling told; None where it told that there is none, or for no telling at all."""
    day = mark.partition(" ")[2]
    return date.fromisoformat(day) if day and day != NO_DAY else None


def _day(on: date | None) -> str:
    return f"{weekday(on)} {day_text(on)}" if on else ""
