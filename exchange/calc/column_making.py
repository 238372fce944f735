"""How columns of sheets are made, and those that several kinds of sheet have."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from core.calc.choices import NumberChoice, TextChoice
from core.calc.translation import gettext_noop
from exchange.calc.columns import Cell, Column
from qa.calc.field_tests import Measures

LENGTH_SMALL, LENGTH, AREA, RATE = ("mm", "in"), ("m", "ft"), ("m²", "ft²"), ("mm/h", "in/h")
MASS, WATER, STORE = ("kg", "lb"), ("L", "gal"), ("m³", "ft³")
SECONDS, HOURS, WARMTH, PRESSURE = ("s", "s"), ("h", "h"), ("°C", "°F"), ("bar", "psi")
SHARE, PERCENT, ANGLE, MONTHS, DAYS = (
    ("share", "share"),
    ("%", "%"),
    ("°", "°"),
    ("months",) * 2,
    ("days",) * 2,
)

UNITS_OF_ENTRIES = {
    Measures.LENGTH: LENGTH_SMALL,
    Measures.AREA: AREA,
    Measures.VOLUME: WATER,
    Measures.TIME: SECONDS,
}


# Readings of tests are in the system that their row names, all else in that of the import.
UNITS_OF_READINGS = frozenset({MASS, *UNITS_OF_ENTRIES.values()} - {SECONDS})


def text_column(
    key: str,
    label: str,
    *words: str,
    required: bool = False,
    hint: str = "",
    fills: Callable[[], Sequence[str]] | None = None,
) -> Column:
    """A column of text. words: what else people call it."""
    return Column(key, label, required=required, other_words=words, hint=hint, fills=fills)


def number_column(
    key: str, label: str, units: tuple[str, ...], *words: str, required: bool = False
) -> Column:
    """A column of numbers. units: in SI and US customary units."""
    pair, stopped = (units[0], units[1]), key.endswith("elapsed_s")
    return Column(key, label, Cell.NUMBER, required, pair, other_words=words, may_be_over=stopped)


def yes_column(key: str, label: str, *words: str) -> Column:
    """A column of yes or no."""
    return Column(key, label, Cell.YES, other_words=words)


def day_column(key: str, label: str, *words: str, required: bool = False) -> Column:
    """A column of dates."""
    return Column(key, label, Cell.DAY, required, other_words=words)


def choice_column(
    key: str,
    label: str,
    choices: type[TextChoice] | type[NumberChoice],
    *words: str,
    required: bool = False,
    also: Mapping[str, str] | None = None,
) -> Column:
    """A column of choices. also: the stored value by what else people write for it."""
    labels = MappingProxyType({str(choice.value): choice.written for choice in choices})
    return Column(key, label, Cell.CHOICE, required, ("", ""), labels, words, also or {})


ID = text_column(
    "id",
    gettext_noop("ID"),
    "key",
    "number",
    "no",
    "ref",
    "reference",
    hint=gettext_noop("Your own number of the row, if you have one. Sent again, the row is known by it."),
)
SITE = text_column(
    "site",
    gettext_noop("Site"),
    "property",
    "site name",
    "location name",
    "project",
    required=True,
)
SURFACE = text_column(
    "surface", gettext_noop("Surface"), "surface name", "area name", "pavement", required=True
)
NOTE = text_column("note", gettext_noop("Note"), "notes", "remark", "remarks", "comment", "comments")
