"""Tables of an archive: what each column holds, and how a value stands in a file of comma-separated values.

An empty cell is nothing. A text that may be missing or empty has a sign for missing, so that both come back. A text
that a spreadsheet would work out as a formula, or that begins with an apostrophe, stands behind an apostrophe.
"""

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from enum import StrEnum
from math import isfinite
from types import MappingProxyType
from typing import Any
from uuid import UUID

MOST_FIGURES = 15  # before the point of a sum: one more than columns of money hold
NOTHING = "\u2400"  # in columns of text, where an empty cell is an empty text
# Source: OWASP, CSV injection: = + - @, tab and carriage return; and what marks them here.
_GUARDED = ("=", "+", "-", "@", "\t", "\r", "'")


class Kind(StrEnum):
    """What a column holds, by the names of its datatype in CSV on the Web (W3C, 2015; XML Schema, part 2)."""

    TEXT = "string"
    NUMBER = "double"
    MONEY = "decimal"
    WHOLE = "integer"
    YES = "boolean"
    DAY = "date"
    INSTANT = "dateTimeStamp"
    CLOCK = "time"
    DATA = "json"
    ID = "string "  # a UUID: text as far as CSV on the Web knows
    FILE = "anyURI"

    @property
    def datatype(self) -> str:
        """The name of the datatype."""
        return self.value.strip()


@dataclass(frozen=True, slots=True)
class TableColumn:
    """One column. refers_to: the table whose ids it holds; unit: in UCUM; choices: label by stored value."""

    name: str
    label: str
    kind: Kind
    required: bool
    note: str = ""
    unit: str = ""
    refers_to: str = ""
    choices: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """One table. comes_back: whether an empty firm takes it in again; why_not: else the reason."""

    name: str
    about: str
    columns: tuple[TableColumn, ...]
    key: str = "id"
    comes_back: bool = True
    why_not: str = ""


def written(value: Any, kind: Kind) -> str:
    """A value as it stands in a cell."""
    if value is None:
        return NOTHING if kind in (Kind.TEXT, Kind.FILE) else ""
    if kind in (Kind.TEXT, Kind.FILE):
        text = str(value)
        return f"'{text}" if text.startswith(_GUARDED) or text == NOTHING else text
    if kind is Kind.YES:
        return "true" if value else "false"
    if kind is Kind.INSTANT:
        return str(value.astimezone(UTC).isoformat()).replace("+00:00", "Z")
    if kind is Kind.DATA:
        return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    if kind in (Kind.DAY, Kind.CLOCK):
        return str(value.isoformat())
    return repr(float(value)) if kind is Kind.NUMBER else str(value)


def read_back(cell: str, kind: Kind) -> Any:
    """The value of a cell. Raises ValueError where it holds no such thing."""
    if kind in (Kind.TEXT, Kind.FILE):
        if cell == NOTHING:
            return None
        if "\x00" in cell:
            raise ValueError("The text holds a sign that no text has.")
        return cell[1:] if cell.startswith("'") else cell
    return None if cell == "" else _READ[kind](cell)


def _yes(cell: str) -> bool:
    if cell not in ("true", "false"):
        raise ValueError(f"{cell!r} is neither true nor false.")
    return cell == "true"


def _finite(cell: str) -> float:
    number = float(cell)
    if not isfinite(number):
        raise ValueError(f"{cell!r} is not finite.")
    return number


def _sum(cell: str) -> Decimal:
    number = Decimal(cell)
    if not number.is_finite() or number.adjusted() >= MOST_FIGURES:
        raise ValueError(f"{cell!r} is no sum.")
    return number


def _clock(cell: str) -> time:
    found = time.fromisoformat(cell)
    if found.tzinfo is not None:
        raise ValueError(f"{cell!r} says a zone, which times of day have not.")
    return found


def _data(cell: str) -> Any:
    """JSON, which has no infinity (RFC 8259, section 6, from memory): no database keeps one there."""
    return json.loads(cell, parse_float=_finite, parse_constant=_finite)


def _instant(cell: str) -> datetime:
    found = datetime.fromisoformat(cell)
    if found.tzinfo is None:
        raise ValueError(f"{cell!r} does not say in which zone.")
    return found


_READ: Mapping[Kind, Callable[[str], Any]] = MappingProxyType(
    {
        Kind.NUMBER: _finite,
        Kind.MONEY: _sum,
        Kind.WHOLE: int,
        Kind.YES: _yes,
        Kind.DAY: date.fromisoformat,
        Kind.INSTANT: _instant,
        Kind.CLOCK: _clock,
        Kind.DATA: _data,
        Kind.ID: UUID,
    }
)

_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


def with_new_ids(text: str, new: Mapping[str, str]) -> str:
    """A text in which every id that has a new one has it."""
    return _UUID.sub(lambda found: new.get(found[0], found[0]), text)


# By how a name ends, the longest first: the units that names of measured columns carry, in UCUM.
_UCUM = (
    ("_mm_h", "mm/h"),
    ("_m2_h", "m2/h"),
    ("_mn_m2", "MN/m2"),
    ("_mpa", "MPa"),
    ("_pa", "Pa"),
    ("_bar", "bar"),
    ("_mm", "mm"),
    ("_km", "km"),
    ("_m2", "m2"),
    ("_m3", "m3"),
    ("_kg", "kg"),
    ("_deg", "deg"),
    ("_months", "mo"),
    ("_days", "d"),
    ("_min", "min"),
    ("_bytes", "By"),
    ("_m", "m"),
    ("_g", "g"),
    ("_c", "Cel"),
    ("_s", "s"),
    ("_h", "h"),
    ("_l", "L"),
    ("percent", "%"),
    ("porosity", "1"),
    ("_share", "1"),
    ("_ratio", "1"),
    ("_factor", "1"),
)
_BEGINS = (("hours_", "h"), ("minutes_", "min"), ("days_", "d"), ("share_", "1"))


def ucum_of(name: str) -> str:
    """The unit that the name of a column of numbers carries; empty where it carries none."""
    begun = next((unit for start, unit in _BEGINS if name.startswith(start)), "")
    return begun or next((unit for end, unit in _UCUM if name.endswith(end)), "")
