"""Numbers of cells as forms take them: every way people write one, with its unit, as a time in parts, as a sum."""

import re
from datetime import time, timedelta
from decimal import Decimal
from math import isfinite

from core.calc.currency import rounded
from core.calc.marks import marked
from core.calc.translation import gettext as _
from exchange.calc.columns import Column
from exchange.calc.tables import MOST_FIGURES
from exchange.calc.unit_words import Unit, converted, unit_named
from exchange.calc.ways import DecimalMark, Reading, UnreadableCellError, Value, Ways, shown

ANY_CURRENCY = ""  # sums of sheets are stored with two decimals, whatever the firm's currency
MORE_THAN_A_SUM = Decimal(10) ** MOST_FIGURES

_NUMBER = re.compile(r"([<>≥≤~]?)\s*([+-]?[\d.,'’\s   ]*\d[.,]?)\s*(.*)", re.DOTALL)
_BAD_GROUP = re.compile(r"[\d.,][\s'’](?!\d{3}(?!\d))")
_BLANKS = re.compile(r"[\s'’   ]")
_CLOCK_LIKE = re.compile(r"(?:(\d{1,3}):)?(\d{1,3}):(\d{2}(?:[.,]\d+)?)")
_ISO_SPAN = re.compile(
    r"P(?:(\d{1,5})D)?(?:T(?:(\d{1,6})H)?(?:(\d{1,7})M)?(?:(\d{1,8}(?:[.,]\d{1,12})?)S)?)?", re.ASCII
)
_LONGER = re.compile(
    r"^\s*(?:took longer than|longer than|more than|over|at least"
    r"|a duré plus de|plus long que|plus de|plus que|supérieure? à|au moins)\s+",
    re.IGNORECASE,
)


def read_number(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    """A number in the unit of its column. Raises UnreadableCellError. unit: the one that the header says."""
    wanted = unit_named(column.unit_in(ways.system))
    span = _as_span(value)
    if span is not None:
        return _duration(span, column, wanted)
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
        remedy = _("Write it as 5:20 or 1:05:20, or as a number in {unit}.").format(unit=wanted.said)
        said = _("{text} is no time: more than 59 stand after a colon").format(text=text)
        raise UnreadableCellError(said, remedy)
    in_hours = not timed[1] and (unit or wanted).name == "h"
    seconds = 3600 * first + 60 * last if in_hours else 3600 * sum(before) + 60 * first + last
    reading = _in_wanted(seconds, unit_named("s"), wanted, "")
    reading.told = _("{text} is read as {value}").format(text=text, value=_with_unit(reading, ".10g", wanted))
    return reading


def _with_unit(reading: Reading, form: str, unit: Unit) -> str:
    return f"{_written(float(str(reading.text)), form)} {unit.said}"


def _written(number: float, form: str) -> str:
    """A number as people read it. form: as Python's format() takes it, without marks between thousands."""
    return marked(format(number, form))


def _percent_told(value: float, unit: Unit | None) -> str:
    """Where a spreadsheet shows 40 % it holds 0.4, and which of the two was meant nobody can see from here."""
    if unit is None or unit.name != "%" or not 0 < value <= 1:
        return ""
    return _("{value} is read as {value} %; a cell that shows {hundredfold} % holds {value}").format(
        value=_written(value, "g"), hundredfold=_written(100 * value, "g")
    )


def _written_number(text: str, column: Column, ways: Ways, unit: Unit | None, wanted: Unit | None) -> Reading:
    match = _NUMBER.fullmatch(text)
    if match is None or match[1] in ("<", "≤", "~") or _BAD_GROUP.search(match[2].strip()):
        said = _("{column} is not a number").format(column=column.said)
        raise UnreadableCellError(said, _("Write a number, or empty the cell."))
    number, told = plain_number(match[2], ways.decimals)
    behind = match[3].strip()
    own = unit_named(behind) if behind else unit
    if behind and (own is None or wanted is None or own.dimension != wanted.dimension):
        raise _other_unit(behind, column, wanted)
    reading = _in_wanted(number, own, wanted, told)
    if own is not None and own != unit and own != wanted and wanted is not None and not reading.told:
        stored = _with_unit(reading, ".6g", wanted)
        reading.told = _("{text} is stored as {value}").format(text=text, value=stored)
    return reading


def _other_unit(behind: str, column: Column, wanted: Unit | None) -> UnreadableCellError:
    alone = _("Write the number alone.")
    in_unit = _("Write the number alone, in {unit}.").format(unit=wanted.said) if wanted else alone
    said = _("“{unit}” after the number is not a unit of {column}")
    return UnreadableCellError(said.format(unit=behind, column=column.said.lower()), in_unit)


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
        remedy = _("Write it with one point or comma, such as 1234.5.")
        raise UnreadableCellError(_("“{text}” is not a number").format(text=text.strip()), remedy)
    plain = bare.replace(other, "").replace(mark, ".")
    number = float(plain)
    read = _("{text} is read as {value}").format(text=text.strip(), value=_written(number, ".10g"))
    return number, read if told else ""


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


def _as_span(value: Value) -> timedelta | None:
    """A time of day or a duration; None for anything else. OpenDocument writes P1DT2H, as ISO 8601 does."""
    if isinstance(value, time):
        clock = timedelta(hours=value.hour, minutes=value.minute, seconds=value.second)
        return clock + timedelta(microseconds=value.microsecond)
    span = _ISO_SPAN.fullmatch(value) if isinstance(value, str) else None
    if span is None or value in ("P", "PT"):
        return value if isinstance(value, timedelta) else None
    days, hours, minutes, seconds = (float((part or "0").replace(",", ".")) for part in span.groups())
    return timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)


def _duration(span: timedelta, column: Column, wanted: Unit | None) -> Reading:
    if wanted is None or wanted.dimension != "time":
        said = _("{column} is not a number but a time").format(column=column.said)
        raise UnreadableCellError(said, _("Format the cell as a number."))
    return _in_wanted(span.total_seconds(), unit_named("s"), wanted, "")


def _in_wanted(number: float, given: Unit | None, wanted: Unit | None, told: str) -> Reading:
    if not isfinite(number):
        raise UnreadableCellError(_("the number is not finite"), _("Write a number, or empty the cell."))
    if given is None or wanted is None or given == wanted:
        return Reading(repr(number), told)
    return Reading(f"{converted(number, given, wanted):.12g}", told)


def read_whole(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    """A number without a fraction. Raises UnreadableCellError."""
    reading = read_number(value, column, ways, unit)
    number = float(str(reading.text))
    if not number.is_integer():
        said = _("{column} is not a whole number").format(column=column.said)
        raise UnreadableCellError(said, _("Write a whole number, or empty the cell."))
    reading.text = str(int(number))
    return reading


# A name such as EUR, Fr. or kr, or a sign, before or behind; “420,-” has no cents.
_NAMED_SUM = r"(?:(?!(?:k?g|t|lbs?|m|mm|cm|in|ft|h|s|min|l|gal)\b)[^\W\d_]{1,4}\.?)"
_CURRENCY = re.compile(
    rf"^{_NAMED_SUM}?\s*[^\w\s.,'’+\-()<>≤≥~%]?\s*(?=[\d.,+-])"
    rf"|(?<=[\d.,])\s*(?:[^\w\s.,'’+\-()<>≤≥~%/]|{_NAMED_SUM}|-{{1,2}})$"
)


def read_money(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    """A sum to the cent, with or without its currency. Raises UnreadableCellError."""
    reading = read_number(_CURRENCY.sub("", value) if isinstance(value, str) else value, column, ways, None)
    given = Decimal(str(reading.text))
    if abs(given) >= MORE_THAN_A_SUM:
        said = _("{column} is larger than any sum").format(column=column.said)
        raise UnreadableCellError(said, _("Correct the sum, or empty the cell."))
    kept = rounded(given, ANY_CURRENCY)
    reading.text = str(kept)
    if kept != given:
        reading.told = _("{text} is stored as {value}").format(text=shown(value), value=marked(str(kept)))
    return reading
