"""Reading a gauge's table: what stands in it, and what is refused by line."""

import itertools
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import ImpossibleRecordError
from qa.calc.rain_record import MOST_MM, Reading, Span, Stamp, Step, covers, joined, read_table, without

HOURLY = Reading(Step.HOUR, Stamp.BEGIN, "UTC")
HOUR = timedelta(hours=1)
NOON = datetime(2026, 5, 31, 12, tzinfo=UTC)


def table(*rows, reading=HOURLY, head="time,rain_mm"):
    return read_table([f"{line}\n" for line in (head, *rows)], reading)


def refusal(*rows, **values):
    with pytest.raises(ImpossibleRecordError) as found:
        table(*rows, **values)
    return str(found.value)


def hours(first, count):
    return Span(NOON + first * HOUR, NOON + (first + count) * HOUR)


def test_a_row_is_rain_within_its_step():
    found = table("2026-05-31T12:00,0", "2026-05-31T13:00,3.4", "2026-05-31 14:00,0")

    assert [(fall.span, fall.depth_mm) for fall in found.falls] == [(hours(1, 1), 3.4)]
    assert found.covered == [hours(0, 3)]


def test_a_time_may_name_the_end_of_its_step():
    found = table("2026-05-31T12:00,1", reading=Reading(Step.HOUR, Stamp.END, "UTC"))

    assert found.falls[0].span == hours(-1, 1)


def test_an_empty_cell_and_a_missing_row_are_not_known():
    found = table("2026-05-31T12:00,0", "2026-05-31T13:00,", "2026-05-31T14:00,0", "2026-05-31T16:00,0")

    assert found.covered == [hours(0, 1), hours(2, 1), hours(4, 1)]


def test_steps_left_out_may_be_dry_but_an_empty_cell_is_still_not_known():
    reading = Reading(Step.HOUR, Stamp.BEGIN, "UTC", dry_left_out=True)

    found = table("2026-05-31T12:00,2", "2026-05-31T15:00,", "2026-05-31T20:00,1", reading=reading)

    assert found.covered == [hours(0, 3), hours(4, 5)]


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("time;rain_mm", "2026-05-31T12:00;2,54"),
        ("time\train_mm", "2026-05-31T12:00\t2.54"),
        ("\ufeffTime,Rain_mm", "2026-05-31T12:00,2.54"),
        ("station,rain_in,time", "7,0.1,2026-05-31T12:00"),
        ("time,rain_mm", "2026-05-31T14:00+02:00,2.54"),
    ],
)
def test_signs_order_units_and_offsets_may_differ(head, row):
    (fall,) = table(row, head=head).falls

    assert (fall.span.begins, fall.depth_mm) == (NOON, pytest.approx(2.54))


def test_a_day_is_the_calendar_day_of_the_place():
    """Clocks in Berlin went forward on 29 March 2026: that day has 23 hours and begins at 23:00 UTC the day before."""
    found = table("2026-03-29,5", reading=Reading(Step.DAY, Stamp.BEGIN, "Europe/Berlin"))

    span = found.falls[0].span
    assert span == (datetime(2026, 3, 28, 23, tzinfo=UTC), datetime(2026, 3, 29, 22, tzinfo=UTC))


def test_the_hour_that_clocks_repeat_comes_twice():
    """Berlin, 25 October 2026: 02:00 is 00:00 UTC, and an hour later 02:00 again."""
    rows = [f"2026-10-25T{hour},1" for hour in ("01:00", "02:00", "02:00", "03:00")]

    found = table(*rows, reading=Reading(Step.HOUR, Stamp.BEGIN, "Europe/Berlin"))

    assert [fall.span.begins.hour for fall in found.falls] == [23, 0, 1, 2]


def test_a_time_with_an_offset_needs_no_place():
    berlin = Reading(Step.HOUR, Stamp.BEGIN, "Europe/Berlin")

    assert table("2026-05-31T12:00Z,1", reading=berlin).falls[0].span.begins == NOON


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("31.5.2026 12:00,1", "Line 2: '31.5.2026 12:00' is not a time"),
        ("2026-05-31T12:00,wet", "Line 2: 'wet' is not a depth of rain"),
        ("2026-05-31T12:00,-1", "Line 2: a depth of -1 cannot be"),
        ("2026-05-31T12:00,nan", "Line 2: a depth of nan cannot be"),
        (f"2026-05-31T12:00,{MOST_MM + 1}", "cannot be. Give 0 to 1900"),
        ("2026-05-31T12:00", "Line 2: it has 1 columns"),
        ("0001-01-01T00:00+14:00,1", "is not a time"),
    ],
)
def test_a_row_that_cannot_be_read_is_named(row, words):
    assert words in refusal(row)


def test_rows_out_of_order_are_named_with_the_row_before():
    said = refusal("2026-05-31T12:00,1", "2026-05-31T12:00,1", "2026-05-31T09:00,1")

    assert "Line 3: its time is not after that of line 2" in said
    assert "Line 4: its time is not after that of line 2" in said


def test_rows_nearer_than_their_step_ask_for_the_right_step():
    said = refusal("2026-05-31T12:00,1", "2026-05-31T12:05,1")

    assert "Line 3: it comes 5 min after line 2, but a row was said to stand for 1 hour." in said


@pytest.mark.parametrize("rest", ["1", "x" * 140_000])
def test_a_quotation_mark_without_its_pair_is_named_by_its_line(rest):
    said = refusal("2026-05-31T12:00,1", '2026-05-31T13:00,"' + rest, "2026-05-31T14:00,1")

    assert said.startswith("Line 3 cannot be taken apart into columns")


def test_of_many_wrong_lines_the_first_are_named_and_the_rest_counted():
    said = refusal(*["x,1"] * 9)

    assert said.count("Line ") == 5
    assert said.endswith("And 4 more.")


@pytest.mark.parametrize("head", ["when,rain_mm", "time,depth", ""])
def test_a_file_without_its_columns_says_what_it_has(head):
    assert f"it says: {head!r}" in refusal("2026-05-31T12:00,1", head=head)


@pytest.mark.parametrize("rows", [(), ("2026-05-31T12:00,",), ("", ",")])
def test_a_table_without_any_depth_is_refused(rows):
    with pytest.raises(ImpossibleRecordError):
        table(*rows)


def test_more_rows_than_can_be_read_are_refused(monkeypatch):
    monkeypatch.setattr("qa.calc.rain_record.MOST_ROWS", 2)

    assert "in parts" in refusal(*[f"2026-05-31T{hour:02}:00,1" for hour in range(4)])


spans = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 20)).map(lambda pair: hours(*pair)), max_size=8)


def instants(some):
    """The hours of spans, one by one: an independent picture of the same time."""
    found = set()
    for span in some:
        at = span.begins
        while at < span.ends:
            found.add(at)
            at += HOUR
    return found


@given(spans, spans)
def test_spans_are_joined_and_taken_out_hour_by_hour(some, taken):
    assert instants(joined(some)) == instants(some)
    assert instants(without(some, taken)) == instants(some) - instants(taken)
    apart = joined(some)
    assert all(one.ends < other.begins for one, other in itertools.pairwise(apart))


@given(spans, st.integers(0, 60), st.integers(1, 20))
def test_a_span_is_covered_when_each_of_its_hours_is(some, first, count):
    wanted = hours(first, count)

    assert covers(some, wanted) == (instants([wanted]) <= instants(some))
