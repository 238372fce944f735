"""What stands in a cell, as a form takes it: every way people write a number, a date, a yes, a choice.

A cell comes as the spreadsheet has it: text, a number, a yes or no, a date, a time of day or a duration in seconds.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from core.calc.format import fixed
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from exchange.calc.columns import LONGEST_TEXT, NOT_WORKED_OUT, Cell, Column
from exchange.calc.tongues import in_every_language
from exchange.calc.unit_words import Unit
from exchange.calc.ways import Reading, UnreadableCellError, Value, Ways, cleaned_text, in_full, shown
from exchange.calc.written_days import read_clock, read_day, read_months, read_weekdays
from exchange.calc.written_numbers import read_money, read_number, read_whole

NOT_SAVED = gettext_noop("Open it in a program for spreadsheets, save it there and send that.")
ON, OFF = "on", "off"  # of a yes or no; one that is left empty is neither
# What spreadsheet programs show in place of a result: ECMA-376, part 1, 18.17.3, newer ones, and those of OpenDocument.
_SHEET_ERROR = re.compile(
    r"#(?:N/A|DIV/0!|VALUE!|REF!|NAME\?|NUM!|NULL!|GETTING_DATA|SPILL!|CALC!|FIELD!|BLOCKED!|CONNECT!|UNKNOWN!|BUSY!)"
    r"|Err:\d{3}",
    re.IGNORECASE,
)


def read_cell(value: Value, column: Column, ways: Ways, unit: Unit | None = None) -> Reading:
    """A cell as the column's form field takes it. Raises UnreadableCellError in words.

    unit: the one that the column's header says, None where it says none.
    """
    value = cleaned_text(value) if isinstance(value, str) else value
    if value is None or value == "":
        return Reading()
    if isinstance(value, str) and _SHEET_ERROR.fullmatch(value):
        raise UnreadableCellError(
            _("the sheet has an error here"), _("Mend the formula of the cell, or empty it.")
        )
    if value == NOT_WORKED_OUT:
        raise UnreadableCellError(_("the sheet holds a formula without its result"), _(NOT_SAVED))
    reading = _READERS[column.cell](value, column, ways, unit)
    if reading.over and not column.may_be_over:
        said = _("{column} cannot be “more than” a number").format(column=column.said)
        raise UnreadableCellError(said, _("Write the number alone, or empty the cell."))
    return reading


def _text(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    if isinstance(value, float) and value.is_integer():
        return Reading(
            str(int(value))
        )  # a house number or a telephone number that the sheet holds as a number
    text = str(value)
    if len(text) > LONGEST_TEXT:
        said = _("{column} is longer than {most} characters").format(
            column=column.said, most=fixed(LONGEST_TEXT, 0, parted=True)
        )
        raise UnreadableCellError(said, _("Shorten the text, and keep the rest as a document."))
    return Reading(text)


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
    said = _("{column} is neither yes nor no").format(column=column.said)
    raise UnreadableCellError(said, _("Write yes or no."))


_ALIKE = str.maketrans({"_": " ", "-": " ", "’": "'"})


def _squeezed(text: str) -> str:
    """A text without case, accents and doubled blanks, with one apostrophe for both."""
    apart = unicodedata.normalize("NFKD", text.casefold().translate(_ALIKE))
    return " ".join("".join(c for c in apart if not unicodedata.combining(c)).split())


def _choice(value: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    return Reading(chosen(in_full(value), column))


def chosen(text: str, column: Column) -> str:
    """The stored value of a choice that is written as its label, its value, a synonym, or how one label alone begins.

    Labels of every language count. Raises UnreadableCellError with the choices there are.
    """
    wanted = _squeezed(text)
    for names in _names_of(column):
        if wanted in names:
            return names[wanted]
    for labels in in_every_language(lambda: column.choices_said):
        begun = [key for key, said in labels.items() if _squeezed(said).startswith(wanted)]
        if len(begun) == 1:
            return begun[0]
    raise UnreadableCellError(
        _("{column} has no “{value}”").format(column=column.said, value=shown(text)),
        _("Write one of: {choices}.").format(choices="; ".join(column.choices_said.values())),
    )


def _names_of(column: Column) -> Iterator[dict[str, str]]:
    """Stored values by what they are called, the likeliest first; what comes later is only made where it is needed."""
    yield {_squeezed(said): key for key, said in column.choices_said.items()}
    yield {_squeezed(key): key for key in column.choices}
    yield {_squeezed(other): key for other, key in column.other_values.items()}
    for labels in in_every_language(lambda: column.choices_said):
        yield {_squeezed(said): key for key, said in labels.items()}


Reader = Callable[[Value, Column, Ways, Unit | None], Reading]
_READERS: Mapping[Cell, Reader] = MappingProxyType(
    {
        Cell.TEXT: _text,
        Cell.NUMBER: read_number,
        Cell.WHOLE: read_whole,
        Cell.MONEY: read_money,
        Cell.DAY: read_day,
        Cell.CLOCK: read_clock,
        Cell.YES: _yes,
        Cell.CHOICE: _choice,
        Cell.MONTHS: read_months,
        Cell.WEEKDAYS: read_weekdays,
    }
)
