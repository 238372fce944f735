"""What stands in a cell, as a form takes it: every way people write a number, a date, a yes, a choice.

A cell comes as the spreadsheet has it: text, a number, a yes or no, a date, a time of day or a duration in seconds.
"""

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from math import isfinite
from types import MappingProxyType

from core.calc.choices import TextChoice
from core.calc.currency import rounded
from core.calc.units import UnitSystem
from exchange.calc.columns import LONGEST_TEXT, Cell, Column
from exchange.calc.tables import MOST_FIGURES
from exchange.calc.unit_words import Unit, converted, unit_named

Value = str | float | bool | date | datetime | time | timedelta | None
SHORTEST_MONTH_NAME = 3
SPREADSHEET_EPOCH = date(
    1899, 12, 30
)  # day 0 of serial dates: ECMA-376, part 1, 18.17.4.1, with its leap day of 1900
FIRST_SERIAL, LAST_SERIAL = 10_000, 80_000  # 1927 to 2119
OLDEST_YEAR_SHORT = 70  # a year of two figures from here on is of the last century
LONGEST_SHOWN = 60
ANY_CURRENCY = ""  # sums of sheets are stored with two decimals, whatever the firm's currency
MORE_THAN_A_SUM = Decimal(10) ** MOST_FIGURES
ON, OFF = "on", "off"  # of a yes or no; one that is left empty is neither
# What spreadsheet programs show in place of a result: ECMA-376, part 1, 18.17.3, newer ones, and those of OpenDocument.
_SHEET_ERROR = re.compile(
    r"#(?:N/A|DIV/0!|VALUE!|REF!|NAME\?|NUM!|NULL!|GETTING_DATA|SPILL!|CALC!|FIELD!|BLOCKED!|CONNECT!|UNKNOWN!|BUSY!)"
    r"|Err:\d{3}",
    re.IGNORECASE,
)
_UNSEEN = dict.fromkeys(map(ord, "\u200b\u200c\u200d\u2060\ufeff\u00ad"))  # no width, and on no keyboard
_GUARDED = re.compile(r"'(?=[=+\-@])")  # an apostrophe that keeps a text from being worked out as a formula
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MONTH_NAMES = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)


class DayOrder(TextChoice):
    """In which order the numbers of a date stand that is written as text."""

    DAY_FIRST = "dmy", "Day first (31/12/2025)"
    MONTH_FIRST = "mdy", "Month first (12/31/2025)"
    ISO = "iso", "Year first only (2025-12-31)"


class DecimalMark(TextChoice):
    """What parts the whole from the fraction where a number written as text does not show it."""

    POINT = "point", "Point (1234.5)"
    COMMA = "comma", "Comma (1234,5)"


@dataclass(frozen=True, slots=True)
class Ways:
    """How the person who sends the sheets writes; asked once for all of them."""

    system: UnitSystem = UnitSystem.SI
    days: DayOrder = DayOrder.DAY_FIRST
    decimals: DecimalMark = DecimalMark.POINT


class UnreadableCellError(Exception):
    """A cell that cannot be read as what its column holds. remedy: what to do, as a sentence."""

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(what)
        self.remedy = remedy


@dataclass(slots=True)
class Reading:
    """What a cell gave. text: as a form takes it, empty for none. told: how it was understood where that is not plain.

    over: the cell said “longer than” before its number.
    """

    text: str | list[str] = ""
    told: str = ""
    over: bool = False


def shown(value: Value) -> str:
    """A cell as a person reads it, cut where it is long."""
    text = _said(value)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…"


def _said(value: Value) -> str:
    """A cell as a person reads it, whole."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else cleaned_text(str(value).replace("\x00", "�"))


def read_cell(value: Value, column: Column, ways: Ways, unit: Unit | None = None) -> Reading:
    """A cell as the column's form field takes it. Raises UnreadableCellError in words.

    unit: the one that the column's header says, None where it says none.
    """
    value = cleaned_text(value) if isinstance(value, str) else value
    if value is None or value == "":
        return Reading()
    if isinstance(value, str) and _SHEET_ERROR.fullmatch(value):
        raise UnreadableCellError("the sheet has an error here", "Mend the formula of the cell, or empty it.")
    reading = _READERS[column.cell](value, column, ways, unit)
    if reading.over and not column.may_be_over:
        raise UnreadableCellError(
            f"{column.label} cannot be “more than” a number", "Write the number alone, or empty the cell."
        )
    return reading


def cleaned_text(text: str) -> str:
    """A text without blanks around it and without signs that nobody sees, its accents joined to their letters.

    An apostrophe before what begins like a formula is taken away: spreadsheets, and our own lists, put it there.
    """
    plain = unicodedata.normalize("NFC", text.translate(_UNSEEN)).strip()
    return _GUARDED.sub("", plain, count=1) if plain.startswith("'") else plain


def _text(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    if isinstance(value, float) and value.is_integer():
        return Reading(
            str(int(value))
        )  # a house number or a telephone number that the sheet holds as a number
    text = str(value)
    if len(text) > LONGEST_TEXT:
        said = f"{column.label} is longer than {LONGEST_TEXT:,} characters"
        raise UnreadableCellError(said, "Shorten the text, and keep the rest as a document.")
    return Reading(text)


# ---- numbers --------------------------------------------------------------------------------------

_NUMBER = re.compile(r"([<>≥≤~]?)\s*([+-]?[\d.,'’\s   ]*\d[.,]?)\s*(.*)", re.DOTALL)
_BAD_GROUP = re.compile(r"[\d.,][\s'’](?!\d{3}(?!\d))")
_BLANKS = re.compile(r"[\s'’   ]")
_CLOCK_LIKE = re.compile(r"(?:(\d{1,3}):)?(\d{1,3}):(\d{2}(?:[.,]\d+)?)")
_LONGER = re.compile(r"^\s*(?:took longer than|longer than|more than|over|at least)\s+", re.IGNORECASE)


def _number(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    wanted = unit_named(column.unit_in(ways.system))
    if isinstance(value, time | timedelta):
        return _duration(value, column, wanted)
    if isinstance(value, float | int) and not isinstance(value, bool):
        return _in_wanted(float(value), unit, wanted, _percent_told(float(value), unit or wanted))
    text = _LONGER.sub(">", str(value).replace("\u2212", "-"))
    reading = _counted_time(text.lstrip(">≥ "), unit, wanted) or _written_number(
        text, column, ways, unit, wanted
    )
    reading.over = text.startswith((">", "≥"))
    return reading


def _counted_time(text: str, unit: Unit | None, wanted: Unit | None) -> Reading | None:
    """A time in parts, such as 5:20; None for anything else. Two parts are hours and minutes where hours are meant."""
    timed = _CLOCK_LIKE.fullmatch(text) if wanted and wanted.dimension == "time" else None
    if timed is None or wanted is None:
        return None
    *before, first, last = (float((part or "0").replace(",", ".")) for part in timed.groups())
    if last >= 60 or (timed[1] and first >= 60):
        remedy = f"Write it as 5:20 or 1:05:20, or as a number in {wanted.name}."
        raise UnreadableCellError(f"{text} is no time: more than 59 stand after a colon", remedy)
    in_hours = not timed[1] and (unit or wanted).name == "h"
    seconds = 3600 * first + 60 * last if in_hours else 3600 * sum(before) + 60 * first + last
    reading = _in_wanted(seconds, unit_named("s"), wanted, "")
    reading.told = f"{text} is read as {float(str(reading.text)):.10g} {wanted.name}"
    return reading


def _percent_told(value: float, unit: Unit | None) -> str:
    """Where a spreadsheet shows 40 % it holds 0.4, and which of the two was meant nobody can see from here."""
    if unit is None or unit.name != "%" or not 0 < value <= 1:
        return ""
    return f"{value:g} is read as {value:g} %; a cell that shows {100 * value:g} % holds {value:g}"


def _written_number(text: str, column: Column, ways: Ways, unit: Unit | None, wanted: Unit | None) -> Reading:
    match = _NUMBER.fullmatch(text)
    if match is None or match[1] in ("<", "≤", "~") or _BAD_GROUP.search(match[2].strip()):
        raise UnreadableCellError(f"{column.label} is not a number", "Write a number, or empty the cell.")
    number, told = plain_number(match[2], ways.decimals)
    said = match[3].strip()
    own = unit_named(said) if said else unit
    if said and (own is None or wanted is None or own.dimension != wanted.dimension):
        rest = f"Write the number alone, in {wanted.name}." if wanted else "Write the number alone."
        raise UnreadableCellError(f"“{said}” after the number is not a unit of {column.label.lower()}", rest)
    reading = _in_wanted(number, own, wanted, told)
    if own is not None and own != unit and own != wanted and wanted is not None and not reading.told:
        reading.told = f"{text} is stored as {float(str(reading.text)):.6g} {wanted.name}"
    return reading


def plain_number(text: str, decimals: DecimalMark = DecimalMark.POINT) -> tuple[float, str]:
    """A number with point or comma and thousands parted in any way, and how it was understood where that is not plain.

    Raises UnreadableCellError where it can be no number.
    """
    bare = _BLANKS.sub("", text).rstrip(".,") or text
    mark, told = _decimal_mark(bare, decimals)
    other = "," if mark == "." else "."
    parted = rf"\d{{1,3}}(?:{re.escape(other)}\d{{3}})+"
    if not re.fullmatch(rf"[+-]?(?:{parted}|\d*)(?:{re.escape(mark)}\d+)?", bare) or not re.search(
        r"\d", bare
    ):
        remedy = "Write it with one point or comma, such as 1234.5."
        raise UnreadableCellError(f"“{text.strip()}” is not a number", remedy)
    plain = bare.replace(other, "").replace(mark, ".")
    number = float(plain)
    return number, f"{text.strip()} is read as {number:.10g}" if told else ""


def _decimal_mark(bare: str, decimals: DecimalMark) -> tuple[str, bool]:
    """The sign that parts the fraction, and whether it had to be taken on trust."""
    usual = "," if decimals is DecimalMark.COMMA else "."
    points, commas = bare.count("."), bare.count(",")
    if points and commas:
        return ("." if bare.rfind(".") > bare.rfind(",") else ","), False
    if not points and not commas:
        return usual, False
    mark, count = ("." if points else ","), points + commas
    grouped = re.fullmatch(r"[+-]?[1-9]\d{0,2}(?:[.,]\d{3})+", bare)
    if count > 1:
        return ("," if mark == "." else "."), False
    return (usual, True) if grouped else (mark, mark != usual)


def _duration(value: time | timedelta, column: Column, wanted: Unit | None) -> Reading:
    if wanted is None or wanted.dimension != "time":
        raise UnreadableCellError(
            f"{column.label} is not a number but a time", "Format the cell as a number."
        )
    span = (
        timedelta(
            hours=value.hour, minutes=value.minute, seconds=value.second, microseconds=value.microsecond
        )
        if isinstance(value, time)
        else value
    )
    return _in_wanted(span.total_seconds(), unit_named("s"), wanted, "")


def _in_wanted(number: float, given: Unit | None, wanted: Unit | None, told: str) -> Reading:
    if not isfinite(number):
        raise UnreadableCellError("the number is not finite", "Write a number, or empty the cell.")
    if given is None or wanted is None or given == wanted:
        return Reading(repr(number), told)
    return Reading(f"{converted(number, given, wanted):.12g}", told)


def _whole(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    reading = _number(value, column, ways, unit)
    number = float(str(reading.text))
    if not number.is_integer():
        raise UnreadableCellError(
            f"{column.label} is not a whole number", "Write a whole number, or empty the cell."
        )
    reading.text = str(int(number))
    return reading


# A name such as EUR, Fr. or kr, or a sign, before or behind; “420,-” has no cents.
_NAMED_SUM = r"(?:(?!(?:k?g|t|lbs?|m|mm|cm|in|ft|h|s|min|l|gal)\b)[^\W\d_]{1,4}\.?)"
_CURRENCY = re.compile(
    rf"^{_NAMED_SUM}?\s*[^\w\s.,'’+\-()<>≤≥~%]?\s*(?=[\d.,+-])"
    rf"|(?<=[\d.,])\s*(?:[^\w\s.,'’+\-()<>≤≥~%/]|{_NAMED_SUM}|-{{1,2}})$"
)


def _money(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    reading = _number(_CURRENCY.sub("", value) if isinstance(value, str) else value, column, ways, None)
    given = Decimal(str(reading.text))
    if abs(given) >= MORE_THAN_A_SUM:
        raise UnreadableCellError(
            f"{column.label} is larger than any sum", "Correct the sum, or empty the cell."
        )
    kept = rounded(given, ANY_CURRENCY)
    reading.text = str(kept)
    if kept != given:
        reading.told = f"{shown(value)} is stored as {kept}"
    return reading


# ---- days and times ---------------------------------------------------------------------------------

_AT = r"(?:(?:T|,?\s+)\d{1,2}[:.h]\d{2}\S*(?:\s?[AaPp][Mm])?)?"  # a time of day behind it, which is left
_ISO = re.compile(rf"(\d{{4}})[-/.](\d{{1,2}})[-/.](\d{{1,2}}){_AT}")
_THREE = re.compile(rf"(\d{{1,2}})\s*[-/. ]\s*(\d{{1,2}})\s*[-/. ]\s*(\d{{4}}|\d{{2}}){_AT}")
_TH = r"(?:st|nd|rd|th)?"
_NAMED = re.compile(
    rf"(?:(\d{{1,2}}){_TH}[. -]*([A-Za-z]{{3,9}})|([A-Za-z]{{3,9}})[. -]*(\d{{1,2}})){_TH}[., -]+(\d{{4}}|\d{{2}})"
)


def _day(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    if isinstance(value, datetime):
        return Reading(value.date().isoformat())
    if isinstance(value, date):
        return Reading(value.isoformat())
    if isinstance(value, float | int) and not isinstance(value, bool):
        return _serial(float(value), column)
    return written_day(str(value), ways.days)


def _serial(value: float, column: Column) -> Reading:
    if not FIRST_SERIAL <= value <= LAST_SERIAL:
        raise UnreadableCellError(f"{column.label} is a number, not a date", "Write the date as 2025-12-31.")
    day = SPREADSHEET_EPOCH + timedelta(days=int(value))
    return Reading(day.isoformat(), f"{value:g} is read as the day {day.isoformat()}")


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
    raise UnreadableCellError("it is not a date", "Write the date as 2025-12-31.")


def _three_numbers(text: str, first: int, second: int, year: str, order: DayOrder) -> Reading:
    if order is DayOrder.ISO:
        raise UnreadableCellError(
            "it can be two days", "Choose for the import whether the day or the month stands first."
        )
    day, month = (first, second) if order is DayOrder.DAY_FIRST else (second, first)
    if month > 12 >= day:
        other = "month first" if order is DayOrder.DAY_FIRST else "day first"
        said = f"it is no date with the {'day' if order is DayOrder.DAY_FIRST else 'month'} first"
        raise UnreadableCellError(
            said, f"Write it as {_year(year)}-{day:02}-{month:02}, or choose {other} for the import."
        )
    return _as_day(text, _year(year), month, day, _short(year))


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
            "there is no such day", "Look at the date again and write it as 2025-12-31."
        )
    found = date(year, month, day).isoformat()
    return Reading(found, f"{text} is read as {found}" if told else "")


def _days_in(year: int, month: int) -> int:
    if not 1 <= year <= 9998:
        return 0
    after = date(year + month // 12, month % 12 + 1, 1)
    return (after - timedelta(days=1)).day


def _month_named(word: str) -> int:
    """The number of a month by its English name or how that begins; 0 for none."""
    low = word.casefold()
    if len(low) < SHORTEST_MONTH_NAME:
        return 0
    return next((n for n, name in enumerate(_MONTH_NAMES, 1) if name.startswith(low)), 0)


_TIME = re.compile(r"(\d{1,2})[:.h](\d{2})(?::\d{2})?\s*(am|pm)?", re.IGNORECASE)


def _clock(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    if isinstance(value, datetime | time):
        return Reading(f"{value:%H:%M}")
    # A serial time is a share of the day: ECMA-376, part 1, 18.17.4.2.
    if isinstance(value, float) and 0 <= value < 1:
        minutes = round(value * 24 * 60) % (24 * 60)
        found = f"{minutes // 60:02}:{minutes % 60:02}"
        return Reading(found, f"{value:g} is read as {found}")
    match = None if isinstance(value, float) else _TIME.fullmatch(str(value))
    hour = int(match[1]) if match else 99
    if match and match[3] and hour < 24:
        hour = hour % 12 + (12 if match[3].casefold() == "pm" else 0)
    if match is None or hour > 23 or int(match[2]) > 59:
        raise UnreadableCellError(f"{column.label} is not a time of day", "Write it as 07:30.")
    return Reading(f"{hour:02}:{match[2]}")


# ---- yes, choices, lists ------------------------------------------------------------------------------

_YES = frozenset(
    ["yes", "y", "true", "x", "1", "ja", "j", "oui", "si", "sim", "wahr", "vrai", "✓", "✔", "on"]
)
_NO = frozenset(
    ["no", "n", "false", "0", "nein", "non", "nao", "não", "nee", "falsch", "faux", "-", "–", "off"]
)


def _yes(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    text = {True: "yes", False: "no"}.get(value) if isinstance(value, bool) else shown(value).casefold()
    if text in _YES:
        return Reading(ON)
    if text in _NO:
        return Reading(OFF)
    raise UnreadableCellError(f"{column.label} is neither yes nor no", "Write yes or no.")


def _squeezed(text: str) -> str:
    return " ".join(text.casefold().replace("_", " ").replace("-", " ").split())


def _choice(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    return Reading(chosen(_said(value), column.choices, column.other_values, column.label))


def chosen(text: str, choices: Mapping[str, str], also: Mapping[str, str], label: str) -> str:
    """The stored value of a choice that is written as its label, its value, a synonym, or how one label alone begins.

    Raises UnreadableCellError with the choices there are.
    """
    wanted = _squeezed(text)
    for names in (
        {_squeezed(said): key for key, said in choices.items()},
        {_squeezed(key): key for key in choices},
        {_squeezed(other): key for other, key in also.items()},
    ):
        if wanted in names:
            return names[wanted]
    begun = [key for key, said in choices.items() if _squeezed(said).startswith(wanted)]
    if len(begun) == 1:
        return begun[0]
    raise UnreadableCellError(
        f"{label} has no “{shown(text)}”", f"Write one of: {'; '.join(choices.values())}."
    )


def _months(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    return _several(value, column, _month_named, 12, "Write months by number or name, such as 12, 1, 2.")


def _weekdays(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    return _several(value, column, _weekday_named, 7, "Write weekdays by name, such as Saturday, Sunday.")


def _weekday_named(word: str) -> int:
    low = word.casefold()
    return next((n for n, name in enumerate(WEEKDAYS, 1) if len(low) > 1 and name.startswith(low)), 0)


def _several(value: Value, column: Column, named: Callable[[str], int], most: int, remedy: str) -> Reading:
    words = [word for word in re.split(r"[,;/\s]+", _said(value)) if word]
    numbers = [int(word) if word.isascii() and word.isdigit() else named(word) for word in words]
    if not numbers or not all(1 <= number <= most for number in numbers):
        raise UnreadableCellError(f"{column.label} cannot be read", remedy)
    return Reading([str(number) for number in numbers])


Reader = Callable[[Value, Column, Ways, Unit | None], Reading]
_READERS: Mapping[Cell, Reader] = MappingProxyType(
    {
        Cell.TEXT: _text,
        Cell.NUMBER: _number,
        Cell.WHOLE: _whole,
        Cell.MONEY: _money,
        Cell.DAY: _day,
        Cell.CLOCK: _clock,
        Cell.YES: _yes,
        Cell.CHOICE: _choice,
        Cell.MONTHS: _months,
        Cell.WEEKDAYS: _weekdays,
    }
)
