"""Times that a stopwatch or a spreadsheet counted: in seconds, minutes and seconds, or hours and minutes."""

from datetime import time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exchange.calc.cells import read_cell
from exchange.calc.columns import Cell, Column
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.unit_words import unit_named
from exchange.calc.ways import UnreadableCellError, Ways

SI = Ways()
ELAPSED = KINDS[SheetKind.TESTS].by_key["elapsed_s"]
SINCE_RAIN = KINDS[SheetKind.ROUNDS].by_key["hours_since_rain"]
SINCE_FIRST = KINDS[SheetKind.TESTS].by_key["minutes_since_first"]
AREA = Column("area_m2", "Area", Cell.NUMBER, units=("m²", "ft²"))
HUNDREDTHS = st.integers(0, 60 * 100 - 1)


def read(value, column=ELAPSED, unit=None):
    return read_cell(value, column, SI, unit)


def number_of(value, column=ELAPSED, unit=None):
    return float(read(value, column, unit).text)


# ---- as spreadsheets hold them --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "seconds"),
    [
        (time(0, 0, 12, 500_000), 12.5),
        (time(0, 5, 20, 250_000), 320.25),
        (time(23, 59, 59, 999_000), 86_399.999),
        (timedelta(seconds=12, milliseconds=500), 12.5),
        (timedelta(hours=25), 90_000.0),
        (timedelta(0), 0.0),
    ],
    ids=str,
)
def test_no_part_of_a_second_is_lost(value, seconds):
    """On a surface that drains fast, half a second of twelve is four percent of the rate."""
    assert number_of(value) == pytest.approx(seconds, abs=1e-9)


@given(st.integers(0, 86_399_999))
def test_a_cell_of_a_time_and_one_of_a_span_are_the_same_seconds(milliseconds):
    span = timedelta(milliseconds=milliseconds)
    minutes, seconds = divmod(span.seconds, 60)
    at = time(minutes // 60, minutes % 60, seconds, span.microseconds)

    assert number_of(at) == number_of(span) == pytest.approx(milliseconds / 1000, abs=1e-9)


@pytest.mark.parametrize(
    ("column", "number"), [(ELAPSED, 5400.0), (SINCE_FIRST, 90.0), (SINCE_RAIN, 1.5)], ids=["s", "min", "h"]
)
@pytest.mark.parametrize("value", [time(1, 30), timedelta(minutes=90), "1:30:00"], ids=str)
def test_a_time_is_brought_into_the_unit_of_its_column(column, number, value):
    assert number_of(value, column) == pytest.approx(number)


# ---- as people write them -------------------------------------------------------------------------------


@given(st.integers(0, 999), HUNDREDTHS)
def test_minutes_and_seconds_are_read_to_the_hundredth(minutes, hundredths):
    text = f"{minutes}:{hundredths // 100:02}.{hundredths % 100:02}"

    assert number_of(text) == pytest.approx(60 * minutes + hundredths / 100)
    assert number_of(text.replace(".", ",")) == number_of(text)


@given(st.integers(0, 99), st.integers(0, 59), st.integers(0, 59))
def test_three_numbers_are_hours_minutes_and_seconds_in_any_column(hours, minutes, seconds):
    text = f"{hours}:{minutes:02}:{seconds:02}"
    whole = 3600 * hours + 60 * minutes + seconds

    assert number_of(text) == pytest.approx(whole)
    assert number_of(text, SINCE_RAIN) == pytest.approx(whole / 3600, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "hours"), [("72:00", 72.0), ("0:30", 0.5), ("48:15", 48.25), ("5:20", 16 / 3)]
)
def test_two_numbers_are_hours_and_minutes_where_the_column_is_in_hours(text, hours):
    """72:00 since the last rain are three days; as minutes they would make the surface a wet one."""
    assert number_of(text, SINCE_RAIN) == pytest.approx(hours, rel=1e-9)


def test_the_unit_of_the_header_says_what_two_numbers_are():
    assert number_of("1:30", ELAPSED, unit_named("h")) == pytest.approx(5400.0)
    assert number_of("1:30", ELAPSED, unit_named("min")) == pytest.approx(90.0)
    assert number_of("1:30", SINCE_RAIN, unit_named("min")) == pytest.approx(90 / 3600, rel=1e-6)


@pytest.mark.parametrize(
    ("value", "column", "told"),
    [
        ("5:20", ELAPSED, "5:20 is read as 320 s"),
        ("> 30:00", ELAPSED, "30:00 is read as 1800 s"),
        ("1:05:20", ELAPSED, "1:05:20 is read as 3920 s"),
        ("72:00", SINCE_RAIN, "72:00 is read as 72 h"),
        ("5:30", SINCE_FIRST, "5:30 is read as 5.5 min"),
    ],
)
def test_how_a_time_was_understood_is_told_in_the_unit_that_is_stored(value, column, told):
    assert read(value, column).told == told


@pytest.mark.parametrize("text", ["5:60", "5:75", "1:60:00", "1:75:30", "0:99.5"])
def test_more_than_sixty_of_the_smaller_are_a_slip(text):
    with pytest.raises(UnreadableCellError, match="no time") as refused:
        read(text)

    assert text in str(refused.value)
    assert refused.value.remedy == "Write it as 5:20 or 1:05:20, or as a number in s."


@pytest.mark.parametrize("text", ["5:2", ":20", "5:", "-5:20", "1:2:3:04", "5:20 min", "12:30 am", "5:20:7"])
def test_what_is_no_time_is_refused(text):
    with pytest.raises(UnreadableCellError) as refused:
        read(text)

    assert refused.value.remedy.startswith("Write")


@pytest.mark.parametrize(
    "begin", ["> ", ">", "≥ ", "≥", "more than ", "took longer than ", "At least ", "over "]
)
def test_longer_than_a_time_in_parts_is_a_bound_however_it_is_said(begin):
    reading = read(f"{begin}30:00")

    assert (float(reading.text), reading.over) == (1800.0, True)


def test_a_time_in_parts_is_no_bound_by_itself():
    assert read("30:00").over is False


@pytest.mark.parametrize("value", ["5:20", time(0, 5, 20), timedelta(seconds=320)], ids=str)
def test_a_time_is_no_area(value):
    with pytest.raises(UnreadableCellError) as refused:
        read(value, AREA)

    assert refused.value.remedy


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("PT36H05M20S", 129_920.0),
        ("PT5M20.5S", 320.5),
        ("P1DT2H", 93_600.0),
        ("PT1800S", 1800.0),
        ("P1D", 86_400.0),
    ],
)
def test_a_span_as_iso_8601_writes_it_is_one(text, seconds):
    assert number_of(text) == seconds


@pytest.mark.parametrize("text", ["P", "PT", "-PT5M", "P1Y", "PT5", "PT5H20", "pt5m"])
def test_what_is_no_such_span_is_refused(text):
    with pytest.raises(UnreadableCellError):
        read(text)
