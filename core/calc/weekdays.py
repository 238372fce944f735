"""Days of the week, as a crew's working week and a site's closed days name them."""

from typing import ClassVar

from core.calc.calendar_numbers import CalendarNumbers
from core.calc.translation import gettext_noop

NAMES = (
    gettext_noop("Monday"),
    gettext_noop("Tuesday"),
    gettext_noop("Wednesday"),
    gettext_noop("Thursday"),
    gettext_noop("Friday"),
    gettext_noop("Saturday"),
    gettext_noop("Sunday"),
)


class Weekdays(CalendarNumbers):
    """Numbers by ISO 8601 from 1, Monday, to 7, Sunday, each once. Raises ValueError for others."""

    __slots__ = ()
    LAST: ClassVar[int] = 7
    WRONG: ClassVar[str] = gettext_noop(
        "%(given)r is not a list of weekdays; give numbers from 1, Monday, to 7, each once."
    )


def no_weekdays() -> dict[str, object]:
    """What is stored where no weekday is named."""
    return Weekdays().to_json()


def working_week() -> dict[str, object]:
    """Monday to Friday, as it is stored."""
    return Weekdays((1, 2, 3, 4, 5)).to_json()
