import pytest

from core.calc.units import UnitSystem
from exchange.calc.example import header
from exchange.calc.headers import fits, plain, suggest_columns, suggest_kind
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.unit_words import UNITS, converted, split_unit, unit_named

FLAT = ("Client", "Site", "Surface", "Area (sq ft)", "Paving", "Installed", "Limit [in/h]", "Colour")


def test_names_are_compared_without_case_accents_blanks_and_signs():
    assert plain(" Prüf-Datum ") == plain("PRUF datum") == "prufdatum"


@pytest.mark.parametrize(
    ("text", "name", "unit"),
    [
        ("Area (m2)", "Area", "m²"),
        ("rate [in/h]", "rate", "in/h"),
        ("area, sq ft", "area", "ft²"),
        ("Elapsed time in min", "Elapsed time", "min"),
        ("thickness_mm", "thickness", "mm"),
        ("agreed_limit_mm_h", "agreed limit", "mm/h"),
        ("Tested on", "Tested on", None),
        ("Notes (internal)", "Notes (internal)", None),
    ],
)
def test_the_unit_is_parted_from_a_header(text, name, unit):
    found, known = split_unit(text)

    assert (found, known.name if known else None) == (name, unit)


def test_the_columns_of_a_list_of_surfaces_are_known():
    assert suggest_columns(SheetKind.SURFACES, FLAT) == (
        "owner",
        "site",
        "name",
        "area_m2",
        "surface_type",
        "opened_on",
        "agreed_limit_mm_h",
        "",
    )


def test_a_column_is_suggested_once():
    assert suggest_columns(SheetKind.OWNERS, ("Name", "Owner", "Phone")) == ("name", "", "phone")


def test_what_a_person_matched_before_comes_first():
    learnt = {"colour": "note", "client": ""}

    assert suggest_columns(SheetKind.SURFACES, ("Client", "Colour"), learnt) == ("", "note")


def test_a_header_with_the_unit_of_something_else_is_not_that_column():
    assert suggest_columns(SheetKind.SURFACES, ("Area (kg)",)) == ("",)
    assert not fits(SheetKind.SURFACES, "area_m2", unit_named("kg"))


@pytest.mark.parametrize("kind", SheetKind)
@pytest.mark.parametrize("system", UnitSystem)
def test_a_sheet_of_our_own_is_known_whole_whatever_it_is_called(kind, system):
    headers = [header(column, system) for column in KINDS[kind].columns]

    assert suggest_kind("Sheet1", headers) is kind
    assert suggest_columns(kind, headers) == tuple(column.key for column in KINDS[kind].columns)


def test_a_sheet_is_known_by_its_name_or_by_its_columns():
    assert suggest_kind("customers", ("A", "B")) is SheetKind.OWNERS
    assert suggest_kind("Sheet1", FLAT) is SheetKind.SURFACES
    assert suggest_kind("Sheet1", ("Site", "Surface", "Date", "Spot", "Water kg", "Time")) is SheetKind.TESTS
    assert suggest_kind("Budget", ("Quarter", "Euros")) is None


def test_the_sheets_that_explain_the_sample_are_left_out():
    columns = ("Sheet", "Column", "Needed", "Unit", "What it may hold", "About it")

    assert suggest_kind("Read me", ("How to use this workbook",)) is None
    assert suggest_kind("Columns", columns) is None


@pytest.mark.parametrize(
    ("value", "given", "wanted", "gives"),
    [
        (1.0, "in", "mm", 25.4),
        (1.0, "acre", "m²", 4046.872609874252),  # 43,560 international square feet would be 4,046.8564224
        (212.0, "°F", "°C", 100.0),
        (100.0, "°C", "°F", 212.0),
        (1.0, "gal", "L", 3.785411784),
        (1.0, "psi", "kPa", 6.894757293168361),
    ],
)
def test_units_are_converted_by_their_definitions(value, given, wanted, gives):
    assert converted(value, UNITS[given], UNITS[wanted]) == pytest.approx(gives, rel=5e-6)


def test_units_of_two_dimensions_are_a_mistake_of_the_program():
    with pytest.raises(ValueError, match="cannot be brought"):
        converted(1.0, UNITS["kg"], UNITS["m"])
