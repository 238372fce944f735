"""Days, times of day, months and weekdays of cells as forms take them."""

import re
import unicodedata
from collections.abc import Callable, Sequence
from datetime import date, datetime, time, timedelta

from core.calc.marks import marked
from core.calc.translation import gettext as _
from exchange.calc.columns import Column
from exchange.calc.unit_words import Unit
from exchange.calc.ways import DayOrder, Reading, UnreadableCellError, Value, Ways, in_full

SHORTEST_MONTH_NAME, SHORTEST_WEEKDAY = 3, 2
# Day 0 of serial dates: ECMA-376, part 1, 18.17.4.1, with its leap day of 1900.
SPREADSHEET_EPOCH = date(1899, 12, 30)
FIRST_SERIAL, LAST_SERIAL = 10_000, 80_000  # 1927 to 2119
OLDEST_YEAR_SHORT = 70  # a year of two figures from here on is of the last century
# English and French names, without accents.
_WEEKDAYS = (
    ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"),
    ("lundi", "mardi", "mercredi", "jeudi", "vendredi", "samedi", "dimanche"),
)
_MONTHS = (
    (
        *("january", "february", "march", "april", "may", "june"),
        *("july", "august", "september", "october", "november", "december"),
    ),
    (
        *("janvier", "fevrier", "mars", "avril", "mai", "juin"),
        *("juillet", "aout", "septembre", "octobre", "novembre", "decembre"),
    ),
)

_AT = r"(?:(?:T|,?\s+(?:à\s+)?)\d{1,2}[:.h]\d{2}\S*(?:\s?[AaPp][Mm])?)?"  # a time of day behind it, which is left
_ISO = re.compile(rf"(\d{{4}})[-/.](\d{{1,2}})[-/.](\d{{1,2}}){_AT}")
_THREE = re.compile(rf"(\d{{1,2}})\s*[-/. ]\s*(\d{{1,2}})\s*[-/. ]\s*(\d{{4}}|\d{{2}}){_AT}")
_TH = r"(?:st|nd|rd|th|er)?"
_WORD = r"[^\W\d_]{3,9}"
_NAMED = re.compile(
    rf"(?:le )?(?:(\d{{1,2}}){_TH}[. -]*({_WORD})|({_WORD})[. -]*(\d{{1,2}})){_TH}[., -]+(\d{{4}}|\d{{2}})",
    re.IGNORECASE,
)


def read_day(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    """A day, written or as the sheet counts days, as a form takes it. Raises UnreadableCellError."""
    if isinstance(value, datetime):
        return Reading(value.date().isoformat())
    if isinstance(value, date):
        return Reading(value.isoformat())
    if isinstance(value, float | int) and not isinstance(value, bool):
        return _serial(float(value), column)
    return written_day(str(value), ways.days)


def _serial(value: float, column: Column) -> Reading:
    if not FIRST_SERIAL <= value <= LAST_SERIAL:
        said = _("{column} is a number, not a date").format(column=column.said)
        raise UnreadableCellError(said, _("Write the date as 2025-12-31."))
    day = (SPREADSHEET_EPOCH + timedelta(days=int(value))).isoformat()
    told = _("{value} is read as the day {day}").format(value=marked(f"{value:g}"), day=day)
    return Reading(day, told)


def written_day(text: str, order: DayOrder) -> Reading:
    """A date written as text. Raises UnreadableCellError for one that cannot be, or can be two days."""
    if match := _ISO.fullmatch(text):
        return _as_day(text, int(match[1]), int(match[2]), int(match[3]), "")
    if match := _NAMED.fullmatch(text):
        month = _month_named(match[2] or match[3])
        if month:
            return _as_day(text, _year(match[5]), month, int(match[1] or match[4]), _short(match[5]))
    if match := _THREE.fullmatch(text):
        return _three_numbers(text, int(match[1]), int(match[2]), match[3], order)
    raise UnreadableCellError(_("it is not a date"), _("Write the date as 2025-12-31."))


def _three_numbers(text: str, first: int, second: int, year: str, order: DayOrder) -> Reading:
    if order is DayOrder.ISO:
        raise UnreadableCellError(
            _("it can be two days"), _("Choose for the import whether the day or the month stands first.")
        )
    day, month = (first, second) if order is DayOrder.DAY_FIRST else (second, first)
    if month > 12 >= day:
        raise _other_order(order, f"{_year(year)}-{day:02}-{month:02}")
    return _as_day(text, _year(year), month, day, _short(year))


def _other_order(order: DayOrder, other: str) -> UnreadableCellError:
    """other: the date with day and month the other way round."""
    if order is DayOrder.DAY_FIRST:
        said = _("it is no date with the day first")
        remedy = _("Write it as {date}, or choose month first for the import.")
    else:
        said = _("it is no date with the month first")
        remedy = _("Write it as {date}, or choose day first for the import.")
    return UnreadableCellError(said, remedy.format(date=other))


def _short(year: str) -> str:
    return "" if len(year) == 4 else "short year"


def _year(text: str) -> int:
    year = int(text)
    if len(text) == 4:
        return year
    return 1900 + year if year >= OLDEST_YEAR_SHORT else 2000 + year


def _as_day(text: str, year: int, month: int, day: int, told: str) -> Reading:
    if not (1 <= month <= 12 and 1 <= day <= _days_in(year, month)):
        raise UnreadableCellError(
            _("there is no such day"), _("Look at the date again and write it as 2025-12-31.")
        )
    found = date(year, month, day).isoformat()
    return Reading(found, _("{text} is read as {value}").format(text=text, value=found) if told else "")


def _days_in(year: int, month: int) -> int:
    if not 1 <= year <= 9998:
        return 0
    after = date(year + month // 12, month % 12 + 1, 1)
    return (after - timedelta(days=1)).day


def _month_named(word: str) -> int:
    """The number of a month by its name or how that alone begins; 0 for none."""
    return _named(word, _MONTHS, SHORTEST_MONTH_NAME)


def _named(word: str, languages: Sequence[Sequence[str]], shortest: int) -> int:
    """The number of a name, counted from 1, by how it begins in one of the languages."""
    apart = unicodedata.normalize("NFKD", word.casefold().rstrip("."))
    low = "".join(c for c in apart if not unicodedata.combining(c))
    begun = {n for names in languages for n, name in enumerate(names, 1) if name.startswith(low)}
    return begun.pop() if len(low) >= shortest and len(begun) == 1 else 0


_TIME = re.compile(r"(\d{1,2}) ?[:.h] ?(\d{2})(?::\d{2})?\s*(am|pm)?", re.IGNORECASE)


def read_clock(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    """A time of day as a form takes it. Raises UnreadableCellError."""
    if isinstance(value, datetime | time):
        return Reading(f"{value:%H:%M}")
    # A serial time is a share of the day: ECMA-376, part 1, 18.17.4.2.
    if isinstance(value, float) and 0 <= value < 1:
        minutes = round(value * 24 * 60) % (24 * 60)
        found = f"{minutes // 60:02}:{minutes % 60:02}"
        told = _("{text} is read as {value}").format(text=marked(f"{value:g}"), value=found)
        return Reading(found, told)
    match = None if isinstance(value, float) else _TIME.fullmatch(str(value))
    hour = int(match[1]) if match else 99
    if match and match[3] and hour < 24:
        hour = hour % 12 + (12 if match[3].casefold() == "pm" else 0)
    if match is None or hour > 23 or int(match[2]) > 59:
        said = _("{column} is not a time of day").format(column=column.said)
        raise UnreadableCellError(said, _("Write it as 07:30."))
    return Reading(f"{hour:02}:{match[2]}")


def read_months(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    """Months by number or name, as their numbers. Raises UnreadableCellError."""
    return _several(value, column, _month_named, 12, _("Write months by number or name, such as 12, 1, 2."))


def read_weekdays(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    """Weekdays by name, as their numbers with Monday as 1. Raises UnreadableCellError."""
    return _several(value, column, _weekday_named, 7, _("Write weekdays by name, such as Saturday, Sunday."))


def _weekday_named(word: str) -> int:
    return _named(word, _WEEKDAYS, SHORTEST_WEEKDAY)


def _several(value: Value, column: Column, named: Callable[[str], int], most: int, remedy: str) -> Reading:
    words = [word for word in re.split(r"[,;/\s]+", in_full(value)) if word]
    numbers = [int(word) if word.isascii() and word.isdigit() else named(word) for word in words]
    if not numbers or not all(1 <= number <= most for number in numbers):
        raise UnreadableCellError(_("{column} cannot be read").format(column=column.said), remedy)
    return Reading([str(number) for number in numbers])
