"""What a column of a sheet holds, whatever it is called there."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from core.calc.translation import gettext as _
from core.calc.units import UnitSystem

LONGEST_TEXT = 4_000  # of one cell
MOST_COLUMNS = 200  # of one sheet
NOT_WORKED_OUT = "=?"  # in place of a formula that was saved without its result


class Cell(StrEnum):
    """How what stands in a cell is read."""

    TEXT = "text"
    NUMBER = "number"
    WHOLE = "whole number"
    MONEY = "sum of money"
    DAY = "date"
    CLOCK = "time of day"
    YES = "yes or no"
    CHOICE = "one of a list"
    MONTHS = "months"
    WEEKDAYS = "weekdays"


@dataclass(frozen=True, slots=True)
class Column:
    """One column that a kind of sheet may have, its texts in English.

    key: name of the form's field it fills, or of what leads to another row. units: the names of the unit it is in where
    a sheet says none, in SI and US customary units. choices: label by stored value. other_words: what else people call
    the column. other_values: what else they write for a choice, by what they write. may_be_over: whether “> 1800” may
    stand there, for a time after which the water was not gone. run: of a test, which one it is of; entry: what is read
    there. fills: gives the names for the place that a hint has for them.
    """

    key: str
    label: str
    cell: Cell = Cell.TEXT
    required: bool = False
    units: tuple[str, str] = ("", "")
    choices: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    other_words: tuple[str, ...] = ()
    other_values: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    hint: str = ""
    example: str | float | None = None
    may_be_over: bool = False
    run: int = 0
    entry: str = ""
    fills: Callable[[], Sequence[str]] | None = None

    @property
    def said(self) -> str:
        """Its label in the reader's language."""
        if self.run:
            return _("Run {number}: {entry}").format(number=self.run, entry=_(self.entry))
        return _(self.label)

    @property
    def choices_said(self) -> dict[str, str]:
        """Its choices in the reader's language."""
        return {value: _(label) for value, label in self.choices.items()}

    @property
    def hint_said(self) -> str:
        """Its hint in the reader's language."""
        hint = _(self.hint)
        return hint.format(names="; ".join(self.fills())) if self.fills else hint

    def unit_in(self, system: UnitSystem) -> str:
        """The unit that is meant where the sheet says none; empty where there is none."""
        return self.units[1] if system is UnitSystem.US else self.units[0]
