"""The workbook to start from: what it shows can be taken in, in either system, and is the same surface."""

import pytest

from core.calc.units import UnitSystem
from exchange.calc.columns import Cell, Column
from exchange.calc.example import EXAMPLES, column_lines, example_rows, header, may_hold
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.rows import rows_of
from exchange.calc.unit_words import UNITS, converted
from exchange.calc.ways import Ways
from exchange.presentation.imports import ABOUT, sample_sheets
from tests.exchange.sheets import example_sheets


def read(system):
    """Every row of the sample by its kind, as an import in that system reads it."""
    return {each.kind: list(rows_of(each, Ways(system=system))) for each in example_sheets(system)}


@pytest.fixture(scope="module")
def both():
    return read(UnitSystem.SI), read(UnitSystem.US)


@pytest.mark.parametrize("kind", SheetKind)
def test_every_cell_of_it_is_read_without_a_problem(both, kind):
    for rows in (both[0][kind], both[1][kind]):
        assert len(rows) == len(EXAMPLES[kind])
        assert [problem for row in rows for problem in row.problems] == []


@pytest.mark.parametrize("kind", SheetKind)
def test_in_us_customary_units_it_shows_the_same_things(both, kind):
    """To the four figures that it shows."""
    for si, us in zip(both[0][kind], both[1][kind], strict=True):
        assert si.values.keys() == us.values.keys()
        for key, value in si.values.items():
            column = KINDS[kind].by_key[key]
            if column.cell is not Cell.NUMBER or not column.units[0]:
                assert us.values[key] == value
                continue
            back = converted(float(us.values[key]), UNITS[column.units[1]], UNITS[column.units[0]])
            assert back == pytest.approx(float(value), rel=6e-4)


@pytest.mark.parametrize("kind", SheetKind)
def test_every_row_has_what_is_needed_and_no_column_that_there_is_not(kind):
    columns = KINDS[kind].by_key
    needed = {key for key, column in columns.items() if column.required}

    for row in EXAMPLES[kind]:
        assert needed <= row.keys() <= columns.keys()


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("kind", SheetKind)
def test_rows_have_a_cell_for_each_column(kind, system):
    rows = list(example_rows(kind, system))

    assert {len(row) for row in rows} == {len(KINDS[kind].columns)}


@pytest.mark.parametrize(
    ("column", "said"),
    [
        (Column("a", "Area", Cell.NUMBER, units=("m²", "ft²")), ("Area [m²]", "Area [ft²]")),
        (Column("t", "Time", Cell.NUMBER, units=("s", "s")), ("Time [s]", "Time [s]")),
        (Column("p", "Porosity", Cell.NUMBER, units=("share", "share")), ("Porosity", "Porosity")),
        (Column("n", "Name"), ("Name", "Name")),
    ],
    ids=lambda value: value.key if isinstance(value, Column) else "",
)
def test_a_header_says_the_unit_in_brackets_where_there_is_one(column, said):
    assert (header(column, UnitSystem.SI), header(column, UnitSystem.US)) == said


@pytest.mark.parametrize("cell", [cell for cell in Cell if cell is not Cell.CHOICE])
def test_what_a_column_may_hold_is_said_for_every_kind_of_cell(cell):
    assert len(may_hold(Column("c", "Column", cell)).split()) >= (1 if cell is Cell.TEXT else 2)


def test_a_share_says_that_percent_may_be_written_and_a_choice_what_there_is():
    share = may_hold(Column("p", "Porosity", Cell.NUMBER, units=("share", "share")))
    choice = may_hold(Column("z", "Zone", Cell.CHOICE, choices={"edge": "Edge", "low": "Low spot"}))

    assert "40 %" in share
    assert choice == "One of: Edge; Low spot"


@pytest.mark.parametrize("system", UnitSystem)
def test_the_sheet_of_columns_names_each_once_with_its_unit(system):
    lines = list(column_lines(system))

    assert [(sheet, name) for sheet, name, *_ in lines] == [
        (kind.label, header(column, system)) for kind in SheetKind for column in KINDS[kind].columns
    ]
    assert {unit for *_, unit, _, _ in lines} >= {"", "mm" if system is UnitSystem.SI else "in", "h"}
    assert "share" not in {unit for *_, unit, _, _ in lines}
    assert {needed for _, _, needed, *_ in lines} == {"needed", ""}


@pytest.mark.parametrize("system", UnitSystem)
def test_the_workbook_explains_itself_before_its_sheets(system):
    about, columns, *kinds = sample_sheets(system)

    assert [about.title, columns.title] == ["Read me", "Columns"]
    assert [kind.title for kind in kinds] == [kind.label for kind in SheetKind]
    assert list(about.rows) == list(ABOUT[1:])
    assert all(
        len(title) <= 31 for title, *_ in (about, columns, *kinds)
    )  # ECMA-376 lets no more stand on a tab
