from datetime import UTC, date, datetime, time, timedelta

import pytest

from core.calc.units import UnitSystem
from exchange.calc.cells import read_cell
from exchange.calc.columns import Cell, Column
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.unit_words import unit_named
from exchange.calc.ways import DayOrder, DecimalMark, UnreadableCellError, Ways, shown
from exchange.calc.written_days import written_day
from exchange.calc.written_numbers import plain_number

SI, US = Ways(), Ways(system=UnitSystem.US)
AREA = Column("area_m2", "Area", Cell.NUMBER, units=("m²", "ft²"))
TIME = Column("elapsed_s", "Elapsed time", Cell.NUMBER, units=("s", "s"), may_be_over=True)
SHARE = Column("porosity", "Porosity", Cell.NUMBER, units=("share", "share"))
TYPE = KINDS[SheetKind.SURFACES].by_key["surface_type"]


def text_of(value, column, ways=SI, unit=None):
    return read_cell(value, column, ways, unit).text


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1234.5", 1234.5),
        ("1,234.5", 1234.5),
        ("1.234,5", 1234.5),
        ("1 234,5", 1234.5),
        ("1'234.5", 1234.5),
        ("1\u00a0234", 1234.0),
        ("12,5", 12.5),
        ("1,234,567", 1234567.0),
        ("1.234.567", 1234567.0),
        ("0.125", 0.125),
        ("-3", -3.0),
        ("+7", 7.0),
        (".5", 0.5),
    ],
)
def test_a_number_is_read_however_it_is_written(text, number):
    assert plain_number(text)[0] == number


def test_a_number_that_can_be_two_is_read_as_the_import_says_and_told():
    assert plain_number("1,234") == (1234.0, "1,234 is read as 1234")
    assert plain_number("1,234", DecimalMark.COMMA) == (1.234, "1,234 is read as 1.234")
    assert plain_number("1.234", DecimalMark.COMMA) == (1234.0, "1.234 is read as 1234")


@pytest.mark.parametrize("text", ["abc", "1.2.3", "1,2,3", "--5", "5 apples", "< 5"])
def test_what_is_no_number_is_refused_in_words(text):
    with pytest.raises(UnreadableCellError) as refused:
        read_cell(text, AREA, SI)

    assert "number" in str(refused.value) or "unit" in str(refused.value)
    assert refused.value.remedy.startswith("Write")


def test_the_unit_of_the_header_or_the_cell_counts_before_that_of_the_import():
    assert text_of(500.0, AREA) == "500.0"
    assert text_of(1000.0, AREA, SI, unit_named("sq ft")) == "92.90304"
    assert text_of("1000 ft²", AREA) == "92.90304"
    assert float(text_of("0.5 ha", AREA, US)) == pytest.approx(53819.55, rel=1e-6)  # 5,000 m² in ft²


@pytest.mark.parametrize("value", [320.0, "320", "5:20", "0:05:20", time(0, 5, 20), timedelta(seconds=320)])
def test_a_duration_is_read_in_seconds(value):
    assert float(text_of(value, TIME)) == 320.0


def test_minutes_by_the_header_become_seconds():
    assert float(text_of(5.5, TIME, SI, unit_named("min"))) == 330.0


@pytest.mark.parametrize("text", [">1800", "> 1800 s", "took longer than 1800", "more than 30 min", "≥ 1800"])
def test_longer_than_a_time_is_told_apart(text):
    reading = read_cell(text, TIME, SI)

    assert (float(reading.text), reading.over) == (1800.0, True)


def test_a_share_is_read_as_percent_too():
    assert text_of(0.4, SHARE) == "0.4"
    assert float(text_of("40 %", SHARE)) == pytest.approx(0.4)
    assert float(text_of(40.0, SHARE, SI, unit_named("%"))) == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("2025-12-31", DayOrder.ISO, "2025-12-31"),
        ("2025/1/2", DayOrder.DAY_FIRST, "2025-01-02"),
        ("03/04/2025", DayOrder.DAY_FIRST, "2025-04-03"),
        ("03/04/2025", DayOrder.MONTH_FIRST, "2025-03-04"),
        ("3.4.2025", DayOrder.DAY_FIRST, "2025-04-03"),
        ("3 Apr 2025", DayOrder.ISO, "2025-04-03"),
        ("April 3, 2025", DayOrder.ISO, "2025-04-03"),
        ("29/02/2024", DayOrder.DAY_FIRST, "2024-02-29"),
        ("3/4/99", DayOrder.DAY_FIRST, "1999-04-03"),
        ("3/4/25", DayOrder.DAY_FIRST, "2025-04-03"),
    ],
)
def test_a_date_is_read_in_the_order_that_was_chosen(text, order, day):
    assert written_day(text, order).text == day


@pytest.mark.parametrize(
    ("text", "order", "said"),
    [
        ("03/04/2025", DayOrder.ISO, "two days"),
        ("13/04/2025", DayOrder.MONTH_FIRST, "no date with the month first"),
        ("04/13/2025", DayOrder.DAY_FIRST, "no date with the day first"),
        ("31/02/2025", DayOrder.DAY_FIRST, "no such day"),
        ("29/02/2025", DayOrder.DAY_FIRST, "no such day"),
        ("soon", DayOrder.DAY_FIRST, "not a date"),
        ("2025-13-01", DayOrder.ISO, "no such day"),
        ("0000-01-01", DayOrder.ISO, "no such day"),
    ],
)
def test_a_date_that_cannot_be_or_can_be_two_is_refused(text, order, said):
    with pytest.raises(UnreadableCellError, match=said) as refused:
        written_day(text, order)

    assert refused.value.remedy


def test_a_date_of_a_spreadsheet_needs_no_order():
    column = Column("tested_on", "Tested on", Cell.DAY)

    assert text_of(date(2025, 4, 3), column) == "2025-04-03"
    assert text_of(datetime(2025, 4, 3, 12, tzinfo=UTC), column) == "2025-04-03"
    assert text_of(45_750.0, column) == "2025-04-03"  # ECMA-376: days since 1899-12-30
    with pytest.raises(UnreadableCellError, match="a number, not a date"):
        read_cell(5.0, column, SI)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("Porous asphalt", "porous_asphalt"),
        ("porous_asphalt", "porous_asphalt"),
        ("  POROUS   asphalt ", "porous_asphalt"),
        ("PICP", "picp"),
        ("block paving", "picp"),
        ("Porous", "porous_asphalt"),
    ],
)
def test_a_choice_is_known_by_label_value_synonym_or_how_it_begins(text, value):
    assert text_of(text, TYPE) == value


def test_an_unknown_choice_is_refused_with_those_there_are():
    with pytest.raises(UnreadableCellError, match="Type has no “tarmac”") as refused:
        read_cell("tarmac", TYPE, SI)

    assert "Porous asphalt" in refused.value.remedy


@pytest.mark.parametrize(
    ("value", "read"), [("x", "on"), (True, "on"), ("Ja", "on"), (1.0, "on"), ("no", "off"), ("", "")]
)
def test_a_yes_a_no_and_nothing_are_told_apart(value, read):
    assert text_of(value, Column("trees", "Trees", Cell.YES)) == read


def test_months_weekdays_times_and_money():
    assert text_of("12, 1, Feb", Column("m", "Months", Cell.MONTHS)) == ["12", "1", "2"]
    assert text_of("Sat; Sunday", Column("w", "Weekdays", Cell.WEEKDAYS)) == ["6", "7"]
    assert text_of("7.30 pm", Column("c", "From", Cell.CLOCK)) == "19:30"
    assert text_of("€ 1,234.50", Column("p", "Cost", Cell.MONEY)) == "1234.50"
    assert text_of(3.0, Column("n", "Passes", Cell.WHOLE)) == "3"


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ("99", Cell.MONTHS),
        ("Noday", Cell.WEEKDAYS),
        ("25:00", Cell.CLOCK),
        ("maybe", Cell.YES),
        (2.5, Cell.WHOLE),
    ],
)
def test_what_cannot_be_read_is_refused(value, cell):
    with pytest.raises(UnreadableCellError):
        read_cell(value, Column("c", "Column", cell), SI)


def test_an_error_of_the_spreadsheet_is_told_as_one():
    with pytest.raises(UnreadableCellError, match="an error"):
        read_cell("#DIV/0!", AREA, SI)


def test_a_cell_is_shown_short_and_without_nul():
    assert shown(12.0) == "12"
    assert shown("a\x00b") == "a�b"
    assert len(shown("x" * 500)) == 60
