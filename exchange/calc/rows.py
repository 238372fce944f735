"""Rows of a sheet as values for forms, with what could not be read."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem
from exchange.calc.cells import read_cell
from exchange.calc.column_making import UNITS_OF_READINGS
from exchange.calc.columns import Column
from exchange.calc.headers import fits
from exchange.calc.kinds import KINDS, KindOfSheet, SheetKind
from exchange.calc.problems import Remark
from exchange.calc.unit_words import Unit, split_unit, unit_named
from exchange.calc.ways import Reading, UnreadableCellError, Value, Ways, shown

MISSING = gettext_noop("Fill in the cell, or match another column.")
# What leads to another row is asked for where it is looked up, since there are several ways to say it.
LOOKED_UP = frozenset({"site", "surface", "round", "owner"})


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet with what its columns hold. rows: without the row of headers; first_row: the number of the first."""

    name: str
    kind: SheetKind
    headers: tuple[str, ...]
    columns: tuple[str, ...]
    rows: Sequence[Sequence[Value]]
    first_row: int = 2

    @property
    def what(self) -> KindOfSheet:
        """What its rows are."""
        return KINDS[self.kind]

    def header_of(self, key: str) -> str:
        """What the sheet calls a column; the column's own label where it has none."""
        if key in self.columns:
            return self.headers[self.columns.index(key)]
        column = self.what.by_key.get(key)
        return column.said if column else ""


@dataclass(slots=True)
class SheetRow:
    """One row. values: by key of the column, as forms take them. over: keys of numbers that were only bounded below."""

    sheet: Sheet
    number: int
    values: dict[str, str | list[str]] = field(default_factory=dict)
    over: frozenset[str] = frozenset()
    raw: dict[str, str] = field(default_factory=dict)
    problems: list[Remark] = field(default_factory=list)
    told: list[Remark] = field(default_factory=list)

    def text(self, key: str) -> str:
        """What was given for a column of text, empty for nothing."""
        value = self.values.get(key, "")
        return value if isinstance(value, str) else ", ".join(value)

    def is_told(self, key: str) -> bool:
        """Whether it was told already that a cell cannot be read or is missing."""
        return any(problem.column == self.sheet.header_of(key) for problem in self.problems)

    def remark(self, key: str, what: str, remedy: str = "") -> Remark:
        """Something about a cell of this row."""
        return Remark(
            self.sheet.name, self.number, self.sheet.header_of(key), self.raw.get(key, ""), what, remedy
        )


def rows_of(sheet: Sheet, ways: Ways) -> Iterator[SheetRow]:
    """Each row that holds anything, read."""
    readers = _columns_of(sheet)
    for number, cells in enumerate(sheet.rows, start=sheet.first_row):
        if any(shown(cell) for cell in cells):
            yield _row(sheet, number, cells, readers, ways)


def _columns_of(sheet: Sheet) -> list[tuple[int, Column, Unit | None]]:
    """Place, column and the unit of its header, of each column that was matched."""
    found = []
    for place, (header, key) in enumerate(zip(sheet.headers, sheet.columns, strict=True)):
        if key:
            unit = split_unit(header)[1]
            found.append((place, sheet.what.by_key[key], unit if fits(sheet.kind, key, unit) else None))
    return found


def converted_columns(sheet: Sheet, ways: Ways) -> Iterator[Remark]:
    """What is said once of each column that is not in the units it is stored in."""
    for _place, column, unit in _columns_of(sheet):
        wanted = unit_named(column.unit_in(ways.system))
        if unit is not None and wanted is not None and unit != wanted and wanted.dimension != "share":
            said = _("its numbers are in {given} and are stored in {wanted}")
            said = said.format(given=unit.said, wanted=wanted.said)
            yield Remark(sheet.name, 0, sheet.header_of(column.key), "", said)


def _row(
    sheet: Sheet,
    number: int,
    cells: Sequence[Value],
    readers: Sequence[tuple[int, Column, Unit | None]],
    ways: Ways,
) -> SheetRow:
    row, over, of_readings = SheetRow(sheet, number), set(), _ways_of_readings(cells, readers, ways)
    for place, column, unit in readers:
        cell = cells[place] if place < len(cells) else None
        row.raw[column.key] = shown(cell)
        reading = _read(row, cell, column, of_readings if column.units in UNITS_OF_READINGS else ways, unit)
        if reading.text:
            row.values[column.key] = reading.text
        if reading.over:
            over.add(column.key)
        if reading.told:
            row.told.append(row.remark(column.key, reading.told))
    row.over = frozenset(over)
    looked_up = LOOKED_UP | {"tested_on"} if row.raw.get("round") else LOOKED_UP  # a round has its day
    row.problems += [
        row.remark(column.key, _("{column} is missing").format(column=column.said), _(MISSING))
        for column in sheet.what.columns
        if column.required and column.key not in looked_up and not row.raw.get(column.key)
    ]
    return row


def _ways_of_readings(
    cells: Sequence[Value], readers: Sequence[tuple[int, Column, Unit | None]], ways: Ways
) -> Ways:
    """As the import says, unless the row names the units of its readings."""
    for place, column, unit in readers:
        if column.key == "unit_system" and place < len(cells):
            try:
                named = read_cell(cells[place], column, ways, unit).text
            except UnreadableCellError:
                return ways  # it is told of with the other cells
            return replace(ways, system=UnitSystem(str(named))) if named else ways
    return ways


def _read(row: SheetRow, cell: Value, column: Column, ways: Ways, unit: Unit | None) -> Reading:
    try:
        return read_cell(cell, column, ways, unit)
    except UnreadableCellError as error:
        row.problems.append(row.remark(column.key, str(error), error.remedy))
        return Reading()
