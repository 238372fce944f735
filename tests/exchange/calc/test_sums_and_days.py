"""Sums to the cent, days at the edges of months, years and centuries, times of day, names of months and weekdays."""

import calendar
from datetime import date, datetime, time, timedelta
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import from_excel, to_excel

from exchange.calc.cells import read_cell
from exchange.calc.columns import Cell, Column
from exchange.calc.ways import DayOrder, DecimalMark, UnreadableCellError, Ways
from exchange.calc.written_days import FIRST_SERIAL, LAST_SERIAL, written_day

SI, COMMA = Ways(), Ways(decimals=DecimalMark.COMMA)
COST, ON = Column("cost", "Cost", Cell.MONEY), Column("on", "On", Cell.DAY)
FROM, MONTHS = Column("from", "From", Cell.CLOCK), Column("m", "Months", Cell.MONTHS)
WEEKDAYS = Column("w", "Weekdays", Cell.WEEKDAYS)
DAYS = st.dates(date(1928, 1, 1), date(2119, 1, 1))


def read(value, column, ways=SI):
    return read_cell(value, column, ways)


def text_of(value, column, ways=SI):
    return read(value, column, ways).text


# ---- sums -----------------------------------------------------------------------------------------------


@given(st.integers(0, 10**9))
def test_a_sum_to_the_cent_is_read_as_it_is(cents):
    sum_ = f"{cents // 100}.{cents % 100:02}"

    for written in (sum_, f"€ {sum_}", f"{sum_} USD", float(sum_)):
        assert (text_of(written, COST), read(written, COST).told) == (sum_, "")
    assert text_of(sum_.replace(".", ","), COST) == sum_


@pytest.mark.parametrize(
    ("value", "kept"),
    [
        (1.005, "1.01"),
        (2.675, "2.68"),
        ("0.125", "0.13"),
        ("0.124999", "0.12"),
        (1 / 3, "0.33"),
        (99.995, "100.00"),
    ],
)
def test_more_decimals_than_cents_are_rounded_as_money_is_and_told(value, kept):
    reading = read(value, COST)

    assert reading.text == kept
    assert reading.told.endswith(f"is stored as {kept}")


@given(st.decimals(0, 10**6, places=5))
def test_rounding_is_that_of_money_everywhere(value):
    exact = Decimal(repr(float(value)))

    assert text_of(float(value), COST) == str(exact.quantize(Decimal("0.01"), ROUND_HALF_UP))


@pytest.mark.parametrize(
    ("text", "point", "comma"),
    [("1,234", "1234.00", "1.23"), ("1.234", "1.23", "1234.00"), ("12.5", "12.50", "12.50")],
)
def test_thousands_or_decimals_is_what_the_import_says(text, point, comma):
    assert (text_of(text, COST), text_of(text, COST, COMMA)) == (point, comma)


@pytest.mark.parametrize("value", [1e15, -1e15, 1e300, "9" * 40])
def test_more_than_any_sum_is_refused_in_words(value):
    with pytest.raises(UnreadableCellError, match="Cost is larger than any sum") as refused:
        read(value, COST)

    assert refused.value.remedy == "Correct the sum, or empty the cell."


# ---- days ------------------------------------------------------------------------------------------------


@given(DAYS)
def test_a_number_is_the_day_that_another_program_takes_it_for(day):
    """openpyxl, of serial dates after the leap day that 1900 had not."""
    assert text_of(float(to_excel(day)), ON) == day.isoformat()


@given(st.floats(FIRST_SERIAL, LAST_SERIAL))
def test_a_part_of_a_day_belongs_to_the_day_that_it_is_in(serial):
    assert text_of(serial, ON) == from_excel(int(serial)).date().isoformat()


@pytest.mark.parametrize("value", [FIRST_SERIAL - 1.0, LAST_SERIAL + 1.0, 0.0, -45_000.0, 2024.0, 20240603.0])
def test_a_number_that_is_far_from_any_day_is_a_number(value):
    with pytest.raises(UnreadableCellError, match="On is a number, not a date"):
        read(value, ON)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("31/12/2024", "2024-12-31"),
        ("1/1/2025", "2025-01-01"),
        ("2024-12-31T23:59:59-12:00", "2024-12-31"),
        ("2025-01-01 00:00", "2025-01-01"),
        ("29/2/2024", "2024-02-29"),
        ("28/2/2025", "2025-02-28"),
        ("31/03/2024 02:30", "2024-03-31"),  # an hour that clocks of central Europe skipped
        ("29 Feb 2000", "2000-02-29"),
        ("31/12/1999", "1999-12-31"),
    ],
)
def test_at_the_turn_of_a_month_a_year_and_of_clocks_it_is_the_day_that_is_written(text, day):
    assert text_of(text, ON) == day


@pytest.mark.parametrize(
    "text", ["29/2/2025", "29/2/1900", "31/4/2024", "31/11/2024", "32/1/2024", "0/1/2024"]
)
def test_a_day_that_its_month_has_not_is_refused(text):
    with pytest.raises(UnreadableCellError, match="there is no such day"):
        read(text, ON)


@given(st.integers(1, 12), st.integers(1930, 2100))
def test_the_last_day_of_every_month_is_one_and_the_next_is_none(month, year):
    last = calendar.monthrange(year, month)[1]

    assert text_of(f"{last}.{month}.{year}", ON) == f"{year}-{month:02}-{last}"
    with pytest.raises(UnreadableCellError):
        read(f"{last + 1}.{month}.{year}", ON)


@pytest.mark.parametrize(
    ("text", "year"),
    [("1/6/00", 2000), ("1/6/69", 2069), ("1/6/70", 1970), ("1/6/99", 1999), ("1 Jun 24", 2024)],
)
def test_a_year_of_two_figures_is_told_with_its_century(text, year):
    reading = read(text, ON)

    assert reading.text == f"{year}-06-01"
    assert reading.told == f"{text} is read as {year}-06-01"


@given(DAYS.filter(lambda day: day.day > 12))
def test_a_day_that_can_be_one_alone_is_refused_in_the_other_order_with_what_to_write(day):
    text = f"{day.month}/{day.day}/{day.year}"

    assert written_day(text, DayOrder.MONTH_FIRST).text == day.isoformat()
    with pytest.raises(UnreadableCellError, match="no date with the day first") as refused:
        written_day(text, DayOrder.DAY_FIRST)
    assert day.isoformat() in refused.value.remedy
    assert "choose month first" in refused.value.remedy


@given(DAYS, st.sampled_from(["%d %B %Y", "%B %d, %Y", "%d-%b-%Y", "%b %d %Y", "%d. %B %Y"]))
def test_a_month_in_words_needs_no_order(day, form):
    text = day.strftime(form)

    assert {written_day(text, order).text for order in DayOrder} == {day.isoformat()}


@given(DAYS)
def test_the_year_first_needs_no_order(day):
    for sign in "-/.":
        text = day.strftime(f"%Y{sign}%m{sign}%d")
        assert {written_day(text, order).text for order in DayOrder} == {day.isoformat()}


# ---- times of day, months, weekdays -------------------------------------------------------------------------


@given(st.times().map(lambda at: at.replace(second=0, microsecond=0)))
def test_every_minute_of_a_day_is_read_however_it_is_written(at):
    share = (at.hour * 60 + at.minute) / 1440
    ways = [at, f"{at:%H:%M}", f"{at:%H.%M}", f"{at:%Hh%M}", f"{at:%I:%M %p}", f"{at:%I:%M%p}".lower()]

    for value in (*ways, datetime(2024, 6, 3, at.hour, at.minute), share):  # noqa: DTZ001  # of a sheet
        assert text_of(value, FROM) == f"{at:%H:%M}"


@pytest.mark.parametrize(
    "value", ["24:00", "12:60", "-1:00", "7", "7:5", "25:00 am", timedelta(hours=24), 1.0]
)
def test_what_no_clock_shows_is_refused(value):
    with pytest.raises(UnreadableCellError, match="From is not a time of day"):
        read(value, FROM)


@given(st.integers(1, 12), st.integers(3, 9), st.booleans())
def test_a_month_is_known_by_how_its_name_begins(month, length, loud):
    word = calendar.month_name[month][:length]

    assert text_of(word.upper() if loud else word, MONTHS) == [str(month)]


@given(st.integers(1, 7), st.integers(2, 9))
def test_a_weekday_is_known_by_how_its_name_begins_and_monday_is_the_first(day, length):
    """ISO 8601: Monday is 1."""
    name = (date(2024, 1, 1) + timedelta(days=day - 1)).strftime("%A")

    assert text_of(name[:length], WEEKDAYS) == [str(day)]


@pytest.mark.parametrize("text", ["Ju", "J", "Ma", "13", "0", "-1", "May to July", "Montag"])
def test_a_month_that_can_be_two_or_none_is_refused(text):
    with pytest.raises(UnreadableCellError, match="Months cannot be read"):
        read(text, MONTHS)


@pytest.mark.parametrize("value", [time(7, 30), datetime(2024, 6, 3, 7, 30)], ids=str)  # noqa: DTZ001
def test_a_time_in_a_column_of_text_stays_readable(value):
    assert "07:30" in text_of(value, Column("note", "Note"))
