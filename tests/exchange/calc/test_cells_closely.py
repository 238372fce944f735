"""Cells that can be taken for something else: read as what they are, told of, or refused."""

from datetime import date, timedelta
from math import isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.units import UnitSystem
from exchange.calc.cells import read_cell
from exchange.calc.columns import LONGEST_TEXT, Cell, Column
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.rows import Sheet, rows_of
from exchange.calc.unit_words import UNITS, unit_named
from exchange.calc.ways import DayOrder, DecimalMark, UnreadableCellError, Ways, cleaned_text
from exchange.calc.written_numbers import plain_number

SI, US, DE = Ways(), Ways(system=UnitSystem.US, days=DayOrder.MONTH_FIRST), Ways(decimals=DecimalMark.COMMA)
LENGTH = Column("drop", "Drop", Cell.NUMBER, units=("mm", "in"))
SHARE = Column("share", "Share", Cell.NUMBER, units=("share", "share"))
SLOPE = Column("slope", "Fall", Cell.NUMBER, units=("%", "%"))
MONEY = Column("cost", "Cost", Cell.MONEY)
DAY = Column("on", "On", Cell.DAY)
CLOCK = Column("at", "From", Cell.CLOCK)
TEXT = Column("note", "Note")


def text_of(value, column, ways=SI, unit=None):
    return read_cell(value, column, ways, unit).text


@pytest.mark.parametrize("text", ["5'6\"", "5' 6\"", "12 5", "1 2345", "10 20 30", "5, 3", "1'23"])
def test_two_numbers_in_a_cell_are_not_run_together(text):
    with pytest.raises(UnreadableCellError):
        read_cell(text, LENGTH, US)


@pytest.mark.parametrize(
    ("text", "sum_"),
    [
        (".50", "0.50"), ("$.50", "0.50"), ("$ 0.50", "0.50"), ("Fr. 500", "500.00"), ("Fr.500", "500.00"),
        ("€ 1.234,50", "1234.50"), ("420,-", "420.00"), ("420 kr.", "420.00"), ("US$ 12.50", "12.50"),
        ("12.50EUR", "12.50"), ("EUR12.50", "12.50"), ("-5 €", "-5.00"), ("1 234,50 €", "1234.50"), (".5", "0.50"),
    ],
)  # fmt: skip
def test_a_sum_is_read_with_its_currency(text, sum_):
    assert text_of(text, MONEY) == sum_


@pytest.mark.parametrize(
    "text", ["(420.00)", "420 kg", "420 €/m²", "> 420", "420 %", "12 apples", "420 - 500", "€"]
)
def test_what_is_no_sum_is_refused(text):
    with pytest.raises(UnreadableCellError):
        read_cell(text, MONEY, SI)


@pytest.mark.parametrize(
    ("value", "clock"), [(0.0, "00:00"), (0.3125, "07:30"), (0.99999, "00:00"), (0.31, "07:26")]
)
def test_a_serial_time_is_a_share_of_the_day(value, clock):
    assert text_of(value, CLOCK) == clock


@pytest.mark.parametrize("value", [7.25, 7.0, 1.0, -0.1, 44624.5, "25:30 pm", "7.5", "noon"])
def test_a_number_is_no_time_of_day(value):
    with pytest.raises(UnreadableCellError):
        read_cell(value, CLOCK, SI)


@pytest.mark.parametrize("clock", ["12:00 am", "0:00", "24 h"])
def test_midnight(clock):
    if clock == "24 h":
        with pytest.raises(UnreadableCellError):
            read_cell(clock, CLOCK, SI)
    else:
        assert text_of(clock, CLOCK) == "00:00"


@pytest.mark.parametrize(
    "text", ["2025-01-02 or later", "03/04/2025?", "03/04/2025 approx", "2025-01-02-03", "3 Apr 2025 ff"]
)
def test_what_stands_behind_a_date_is_not_passed_over(text):
    with pytest.raises(UnreadableCellError):
        read_cell(text, DAY, SI)


@pytest.mark.parametrize(
    "text", ["2025-04-03 07:30", "2025-04-03T07:30:00Z", "03/04/2025 7:30 PM", "3rd April 2025", "April 3rd, 2025",
             "3-Apr-2025", "03.04.2025, 07:30"]
)  # fmt: skip
def test_a_time_of_day_behind_a_date_is_left(text):
    assert text_of(text, DAY) == "2025-04-03"


def test_a_short_year_is_told_of_however_the_month_is_written():
    assert read_cell("3-Apr-25", DAY, SI).told == "3-Apr-25 is read as 2025-04-03"
    assert read_cell("3/4/25", DAY, SI).told == "3/4/25 is read as 2025-04-03"


@given(st.dates(date(1930, 1, 1), date(2090, 1, 1)), st.sampled_from("/.-"))
def test_every_day_is_read_in_the_order_that_was_said(day, sign):
    first = f"{day.day}{sign}{day.month}{sign}{day.year}"
    second = f"{day.month:02}{sign}{day.day:02}{sign}{day.year}"

    assert text_of(first, DAY, Ways(days=DayOrder.DAY_FIRST)) == day.isoformat()
    assert text_of(second, DAY, Ways(days=DayOrder.MONTH_FIRST)) == day.isoformat()
    assert text_of(float((day - date(1899, 12, 30)).days), DAY) == day.isoformat()


@given(
    st.floats(0, 1e9).map(lambda n: round(n, 2)),
    st.sampled_from([",", ".", " ", "'", "\u00a0", "\u202f", ""]),
)
def test_every_number_is_read_however_its_thousands_are_parted(number, parted):
    point = "," if parted == "." else "."
    text = f"{number:,.2f}".replace(".", "P").replace(",", parted).replace("P", point)

    assert plain_number(text)[0] == pytest.approx(number)


@given(st.text())
def test_no_text_is_read_as_a_number_that_it_is_not(text):
    """Whatever a cell holds: a finite number, nothing, or a refusal in words with a remedy."""
    for column in (
        LENGTH,
        MONEY,
        DAY,
        CLOCK,
        SHARE,
        Column("n", "N", Cell.WHOLE),
        Column("m", "M", Cell.MONTHS),
    ):
        text_read, remedy = outcome(text, column)
        assert (
            remedy.endswith((".", "?"))
            or column.cell in (Cell.DAY, Cell.CLOCK, Cell.MONTHS)
            or finite(text_read)
        )


def outcome(text, column):
    """What was read, or the remedy of a refusal."""
    try:
        return read_cell(text, column, SI).text, ""
    except UnreadableCellError as refused:
        return "", refused.remedy


def finite(text):
    return text == "" or isfinite(float(text))


@pytest.mark.parametrize("text", ["> 5", "more than 5", "at least 5 mm", "≥5"])
def test_a_bound_is_refused_where_none_can_be(text):
    with pytest.raises(UnreadableCellError, match="cannot be “more than”"):
        read_cell(text, LENGTH, SI)


def test_a_percent_that_may_be_a_share_is_told_of():
    percent = unit_named("%")

    assert "a cell that shows 40 % holds 0.4" in read_cell(0.4, SHARE, SI, percent).told
    assert "a cell that shows 2 % holds 0.02" in read_cell(0.02, SLOPE, SI).told
    assert read_cell(40.0, SHARE, SI, percent).told == ""
    assert read_cell(0.4, SHARE, SI).told == ""
    assert read_cell(0.0, SLOPE, SI).told == ""


@pytest.mark.parametrize("text", ["#A1", "#12", "#B", "#n", "# 4"])
def test_a_label_that_begins_with_a_number_sign_is_no_error_of_the_sheet(text):
    assert text_of(text, TEXT) == text


@pytest.mark.parametrize("text", ["#N/A", "#n/a", "#SPILL!", "Err:508", "#NAME?", " #REF!\u00a0"])
def test_an_error_of_the_sheet_is_one_in_any_column(text):
    for column in (TEXT, LENGTH, DAY, MONEY, CLOCK):
        with pytest.raises(UnreadableCellError, match="an error"):
            read_cell(text, column, SI)


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Mu\u0308ller", "Müller"), ("\ufeffA", "A"), ("A\u200b", "A"),
        ("'=1+1", "=1+1"), ("'+49", "+49"), ("'tis", "'tis"),
        ("\u00a0A \t", "A"), ("'", "'"), ("so\u00adft", "soft"),
    ],
)  # fmt: skip
def test_a_text_is_without_what_nobody_sees(text, plain):
    assert cleaned_text(text) == plain
    assert text_of(text, TEXT) == plain


def test_a_long_text_is_refused_and_never_cut():
    assert text_of("x" * LONGEST_TEXT, TEXT) == "x" * LONGEST_TEXT
    with pytest.raises(UnreadableCellError, match="longer than 4,000"):
        read_cell("x" * (LONGEST_TEXT + 1), TEXT, SI)


def test_a_minus_of_a_printed_text_is_one():
    assert text_of("\u22125", LENGTH) == "-5.0"


def test_lists_of_months_and_weekdays_are_read_whole():
    months = (
        "January, February, March, April, May, June, July, August, September, October, November, December"
    )
    days = "Monday, Tuesday, Wednesday, Thursday, Friday, Saturday, Sunday"

    assert text_of(months, Column("m", "Months", Cell.MONTHS)) == [str(n) for n in range(1, 13)]
    assert text_of(days, Column("w", "Weekdays", Cell.WEEKDAYS)) == [str(n) for n in range(1, 8)]


@given(st.sampled_from(list(UNITS.values())), st.floats(0.001, 1e6))
def test_a_unit_in_the_header_counts_as_one_in_the_cell(unit, number):
    wanted = next(u for u in UNITS.values() if u.dimension == unit.dimension)
    column = Column("x", "X", Cell.NUMBER, units=(wanted.name, wanted.name), may_be_over=True)
    number = float(f"{number:.6f}")

    by_header = float(text_of(number, column, SI, unit))
    assert float(text_of(f"{number:.6f} {unit.name}", column)) == pytest.approx(by_header)


def rows(headers, columns, *cells):
    return list(rows_of(Sheet("s", SheetKind.TESTS, headers, columns, cells), SI))


def test_readings_are_brought_into_the_units_that_their_row_names():
    """18 kg of a column in kg are 39.7 lb where the row says that its readings are US customary."""
    keys = ("test_mass", "ring_diameter", "air_temperature_c", "unit_system")
    headers = ("Mass [kg]", "Diameter", "Air temp [°C]", "Units")
    us, si = rows(headers, keys, [18.0, 12.0, 20.0, "US"], [18.0, 300.0, 20.0, None])

    assert float(us.values["test_mass"]) == pytest.approx(39.683, rel=1e-4)
    assert us.values["ring_diameter"] == "12.0"
    assert us.values["air_temperature_c"] == si.values["air_temperature_c"] == "20.0"
    assert si.values["test_mass"] == "18.0"


def test_units_that_are_not_known_are_told_once():
    (row,) = rows(("Mass", "Units"), ("test_mass", "unit_system"), [18.0, "furlongs"])

    assert [p.column for p in row.problems if "no “furlongs”" in p.what] == ["Units"]


def test_a_test_that_names_its_round_needs_no_day():
    (row,) = rows(("Round", "Spot"), ("round", "location"), ["R1", "A"])

    assert row.problems == []


@pytest.mark.parametrize("kind", SheetKind)
def test_no_key_and_no_label_stands_twice_in_a_kind(kind):
    columns = KINDS[kind].columns

    assert len({c.key for c in columns}) == len({c.label.casefold() for c in columns}) == len(columns)


def test_a_span_of_time_is_no_number_of_something_else():
    with pytest.raises(UnreadableCellError, match="not a number but a time"):
        read_cell(timedelta(minutes=5), LENGTH, SI)
    with pytest.raises(UnreadableCellError):
        read_cell(True, LENGTH, DE)
