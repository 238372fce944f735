"""How people write in sheets, what a cell gave, and how it is shown to them."""

import re
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from core.calc.choices import TextChoice
from core.calc.marks import marked
from core.calc.translation import gettext as _
from core.calc.units import UnitSystem

Value = str | float | bool | date | datetime | time | timedelta | None
LONGEST_SHOWN = 60
_UNSEEN = dict.fromkeys(map(ord, "\u200b\u200c\u200d\u2060\ufeff\u00ad"))  # no width, and on no keyboard
_GUARDED = re.compile(r"'(?=[=+\-@])")  # an apostrophe that keeps a text from being worked out as a formula


class DayOrder(TextChoice):
    """In which order the numbers of a date stand that is written as text."""

    DAY_FIRST = "dmy", "Day first (31/12/2025)"
    MONTH_FIRST = "mdy", "Month first (12/31/2025)"
    ISO = "iso", "Year first only (2025-12-31)"


class DecimalMark(TextChoice):
    """What parts the whole from the fraction where a number written as text does not show it."""

    POINT = "point", "Point (1234.5)"
    COMMA = "comma", "Comma (1234,5)"

    @classmethod
    def of_reader(cls) -> "DecimalMark":
        """The one of the reader's language."""
        return cls.COMMA if "," in marked("0.5") else cls.POINT


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
    text = in_full(value)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…"


def in_full(value: Value) -> str:
    """A cell as a person reads it, whole."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    return "" if value is None else cleaned_text(str(value).replace("\x00", "�"))


def cleaned_text(text: str) -> str:
    """A text without blanks around it and without signs that nobody sees, its accents joined to their letters.

    An apostrophe before what begins like a formula is taken away: spreadsheets, and our own lists, put it there.
    """
    plain = unicodedata.normalize("NFC", text.translate(_UNSEEN)).strip()
    return _GUARDED.sub("", plain, count=1) if plain.startswith("'") else plain
