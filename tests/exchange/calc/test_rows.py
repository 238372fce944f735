"""Rows of a sheet: their numbers, what stands in them, what is told of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.units import UnitSystem
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.problems import Remark
from exchange.calc.rows import MISSING, Sheet, SheetRow, converted_columns, rows_of
from exchange.calc.ways import Ways
from tests.exchange.sheets import sheet

SI, US = Ways(), Ways(system=UnitSystem.US)
OWNERS = Sheet("Clients", SheetKind.OWNERS, ("Who", "Tel"), ("name", "phone"), ())
NOTHING = [None, "", "  ", "\u00a0", "\u200b"]


def owners(*cells, **changes):
    values = {"headers": ("Who", "Tel"), "columns": ("name", "phone"), "rows": cells}
    return Sheet("Clients", SheetKind.OWNERS, **values | changes)


def read(sheet_, ways=SI):
    return list(rows_of(sheet_, ways))


@given(st.lists(st.booleans(), max_size=30), st.integers(2, 20))
def test_a_row_keeps_the_number_that_the_spreadsheet_shows_however_many_are_empty_above_it(filled, first):
    cells = [["A", "1"] if each else NOTHING[:2] for each in filled]

    found = [row.number for row in read(owners(*cells, first_row=first))]

    assert found == [number for number, each in enumerate(filled, start=first) if each]


@pytest.mark.parametrize("empty", [[], [None], NOTHING], ids=["no cell", "one cell", "blanks"])
def test_a_row_of_nothing_is_none(empty):
    assert read(owners(empty)) == []


@pytest.mark.parametrize("cell", [0.0, False, "-", "0"])
def test_a_zero_and_a_no_are_something(cell):
    assert len(read(owners(["", cell]))) == 1


def test_a_row_that_is_shorter_than_its_headers_has_nothing_in_the_rest():
    (row,) = read(owners(["Harbour Homes"]))

    assert row.values == {"name": "Harbour Homes"}
    assert row.raw == {"name": "Harbour Homes", "phone": ""}
    assert row.text("phone") == ""


def test_what_stands_beyond_the_headers_and_in_columns_that_are_left_out_is_passed_over():
    (row,) = read(owners(["Harbour Homes", "123", "beyond"], columns=("name", "")))

    assert row.values == {"name": "Harbour Homes"}
    assert "123" not in row.raw.values()


def test_what_is_missing_is_told_by_row_and_header_with_what_to_do():
    (row,) = read(owners(["", "123"], first_row=7))

    assert row.problems == [Remark("Clients", 7, "Who", "", "Name is missing", MISSING)]
    assert row.is_told("name")
    assert not row.is_told("phone")


def test_a_column_that_the_sheet_has_not_is_told_by_its_label():
    (row,) = read(owners(["123"], headers=("Tel",), columns=("phone",)))

    assert [(problem.column, problem.what) for problem in row.problems] == [("Name", "Name is missing")]


def test_a_cell_that_cannot_be_read_is_told_once_and_not_as_missing_too():
    headers, columns = ("Surface", "When", "How"), ("surface", "cleaned_on", "method")
    cells = [["Yard", "soon", "#REF!"]]
    (row,) = read(Sheet("Done", SheetKind.CLEANINGS, headers, columns, cells))

    assert [(problem.column, problem.value, problem.what) for problem in row.problems] == [
        ("When", "soon", "it is not a date"),
        ("How", "#REF!", "the sheet has an error here"),
    ]
    assert row.values == {"surface": "Yard"}


def test_what_leads_to_another_row_is_not_asked_for_before_it_is_looked_up():
    (row,) = read(sheet(SheetKind.LOCATIONS, ("Label",), ["A1"]))

    assert row.problems == []


def test_lists_are_said_as_one_text():
    (row,) = read(sheet(SheetKind.SITES, ("Name", "Frost months"), ["Yard", "12; 1 Feb"]))

    assert row.values["frost_months"] == ["12", "1", "2"]
    assert row.text("frost_months") == "12, 1, 2"


@pytest.mark.parametrize(
    ("key", "said"),
    [("name", "Who"), ("note", "Note"), ("email", "E-mail for reports"), ("", ""), ("nothing_of_ours", "")],
)
def test_a_column_is_called_as_the_sheet_calls_it_else_by_its_label(key, said):
    assert OWNERS.header_of(key) == said


def test_a_remark_has_what_stood_in_the_cell_cut_where_it_is_long():
    (row,) = read(owners(["x" * 200, "123"]))

    remark = row.remark("name", "it is long", "Shorten it.")

    assert (len(remark.value), remark.value[-1]) == (60, "…")
    assert (remark.sheet, remark.row, remark.column) == ("Clients", 2, "Who")
    assert (remark.what, remark.remedy) == ("it is long", "Shorten it.")


def test_a_remark_of_the_whole_row_names_no_column_and_no_value():
    remark = SheetRow(OWNERS, 5).remark("", "it is odd")

    assert (remark.row, remark.column, remark.value, remark.remedy) == (5, "", "", "")


# ---- numbers --------------------------------------------------------------------------------------------


def surfaces(*headers):
    return sheet(SheetKind.SURFACES, headers)


def told(sheet_, ways=SI):
    return [(one.row, one.column, one.what) for one in converted_columns(sheet_, ways)]


def test_a_column_in_other_units_is_told_once_for_the_whole_sheet():
    assert told(surfaces("Area (sq ft)", "Joint width [mm]", "Limit [in/h]", "Note")) == [
        (0, "Area (sq ft)", "its numbers are in ft² and are stored in m²"),
        (0, "Limit [in/h]", "its numbers are in in/h and are stored in mm/h"),
    ]


def test_what_is_meant_anyway_is_not_told():
    assert told(surfaces("Area (sq ft)", "Limit [in/h]"), US) == []
    assert told(surfaces("Area", "Limit")) == []
    assert told(surfaces("Area (m2)"), US) == [
        (0, "Area (m2)", "its numbers are in m² and are stored in ft²")
    ]


def test_a_share_in_percent_is_not_told_of_as_another_unit():
    assert told(sheet(SheetKind.LAYERS, ("Layer", "Porosity (%)"))) == []


@pytest.mark.parametrize(
    ("ways", "header", "number"),
    [(SI, "Area", 100.0), (US, "Area", 100.0), (SI, "Area (sq ft)", 9.290304), (US, "Area (m2)", 1076.39104)],
)
def test_a_number_is_given_in_the_units_of_the_import_whatever_its_header_says(ways, header, number):
    (row,) = read(sheet(SheetKind.SURFACES, (header,), [100.0]), ways)

    assert float(row.values["area_m2"]) == pytest.approx(number, rel=1e-6)


def test_longer_than_is_kept_by_column_and_its_number_is_read():
    headers = ("Surface", "Date", "Spot", "Time", "Mass")
    (row,) = read(sheet(SheetKind.TESTS, headers, ["Yard", "2024-06-03", "A", "> 1800", 3.6]))

    assert row.over == {"elapsed_s"}
    assert (row.values["elapsed_s"], row.problems) == ("1800.0", [])


def test_how_a_cell_was_understood_stands_beside_it():
    (row,) = read(sheet(SheetKind.SURFACES, ("Name", "Area"), ["Yard", "1,234"]))

    assert [(one.row, one.column, one.value, one.what) for one in row.told] == [
        (2, "Area", "1,234", "1,234 is read as 1234")
    ]


@pytest.mark.parametrize("named", ["us", "US", "imperial"])
def test_units_of_readings_that_a_row_names_hold_for_that_row_alone(named):
    headers = ("Surface", "Date", "Spot", "Test mass (kg)", "Units of the readings")
    cells = [["Yard", "2024-06-03", spot, 1.0, units] for spot, units in (("A", named), ("B", None))]

    first, second = read(sheet(SheetKind.TESTS, headers, *cells))

    assert float(first.values["test_mass"]) == pytest.approx(1 / 0.45359237)
    assert float(second.values["test_mass"]) == 1.0


@pytest.mark.parametrize("kind", SheetKind)
def test_every_needed_column_that_is_left_empty_is_told_unless_it_is_looked_up(kind):
    needed = [column for column in KINDS[kind].columns if column.required]
    filler = next(column for column in KINDS[kind].columns if not column.required and not column.units[0])
    (row,) = read(
        sheet(kind, (*(column.label for column in needed), filler.label), [*[None] * len(needed), "x"])
    )

    missing = {problem.column for problem in row.problems if problem.what.endswith("is missing")}
    assert missing == {c.label for c in needed if c.key not in ("site", "surface", "owner", "round")}
