"""What of a visit is new to somebody of a crew: the day they were told against the day as it stands."""

from datetime import date

from core.calc.format import day as day_text

NO_DAY = "-"


def news_in_words(was: date | None, on: date | None, *, is_cancelled: bool, sites: str) -> str:
    """One sentence; empty where nothing is new. was: the day told before, on: as it stands, None for no day of theirs.

    sites: their names.
    """
    where = f": {sites}" if sites else ""
    if was == on:
        return ""
    if was is None:
        return f"You go out on {_day(on)}{where}."
    if on is None:
        became = "is cancelled" if is_cancelled else "is no longer yours"
        return f"Your visit on {_day(was)} {became}{where}."
    return f"Your visit on {_day(was)} is moved to {_day(on)}{where}."


def mark_of(count: int, on: date | None) -> str:
    """How a telling is known again: the how manieth it is, and the day that it told."""
    return f"{count} {on.isoformat() if on else NO_DAY}"


def day_of(mark: str) -> date | None:
    """The day that a telling told; None where it told that there is none, or for no telling at all."""
    day = mark.partition(" ")[2]
    return date.fromisoformat(day) if day and day != NO_DAY else None


def _day(on: date | None) -> str:
    return f"{on:%A} {day_text(on)}" if on else ""
