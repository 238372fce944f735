"""How long it had been dry before a test, by a rain record."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.calc.dry_time import RAIN_COUNTS_MM, DryVerdict, dry_time
from qa.calc.rain_record import Fall, Span

HOUR = timedelta(hours=1)
TEST_AT = datetime(2026, 6, 10, 9, tzinfo=UTC)
TIMED = Span(TEST_AT, TEST_AT + timedelta(seconds=1))
THAT_DAY = Span(TEST_AT - 9 * HOUR, TEST_AT + 15 * HOUR)
ALWAYS = [Span(TEST_AT - 2_000 * HOUR, TEST_AT + 100 * HOUR)]


def rain(hours_before, length_h=1.0, depth_mm=2.0):
    """Rain that ended so many hours before nine."""
    ends = TEST_AT - timedelta(hours=hours_before)
    return Fall(Span(ends - timedelta(hours=length_h), ends), depth_mm)


def dry(*falls, tested=TIMED, covered=ALWAYS, stated_h=None):
    return dry_time(tested, falls, covered, stated_h)


@pytest.mark.parametrize(
    ("hours_before", "verdict"),
    [
        (30, DryVerdict.DRY),
        (24, DryVerdict.DRY),
        (23.5, DryVerdict.UNSURE),
        (22, DryVerdict.WET),
        (2, DryVerdict.WET),
    ],
)
def test_twenty_four_hours_are_asked_for(hours_before, verdict):
    assert dry(rain(hours_before)).verdict is verdict


def test_hours_lie_between_the_end_and_the_beginning_of_the_last_rain():
    found = dry(rain(50), rain(5))

    assert found.least_h == pytest.approx(5.0)
    assert found.most_h == pytest.approx(6.0, abs=0.01)


def test_a_days_total_cannot_tell_when_it_fell():
    """Rain of the day before yesterday ended 33 hours before nine, yesterday's 9 to 33 hours before."""
    yesterday = Fall(Span(TEST_AT - 33 * HOUR, TEST_AT - 9 * HOUR), 4.0)

    found = dry(yesterday)

    assert (found.least_h, found.verdict) == (pytest.approx(9.0), DryVerdict.UNSURE)
    assert found.most_h == pytest.approx(33.0, abs=0.01)


def test_a_test_that_nobody_timed_lies_somewhere_in_its_day():
    found = dry(rain(12), tested=THAT_DAY)

    assert (found.least_h, found.most_h) == (pytest.approx(3.0), pytest.approx(28.0))
    assert found.verdict is DryVerdict.UNSURE


def test_rain_of_the_same_day_may_have_come_after_a_test_that_nobody_timed():
    found = dry(rain(-4), tested=THAT_DAY)

    assert (found.least_h, found.most_h) == (0.0, None)
    assert found.verdict is DryVerdict.UNSURE


def test_rain_after_the_test_does_not_matter():
    assert dry(rain(-4)).verdict is DryVerdict.DRY


def test_less_than_a_tip_is_no_rain():
    assert dry(rain(2, depth_mm=RAIN_COUNTS_MM - 0.01)).verdict is DryVerdict.DRY
    assert dry(rain(2, depth_mm=RAIN_COUNTS_MM)).verdict is DryVerdict.WET


def test_a_day_with_a_gap_is_not_covered_but_rain_that_was_seen_counts():
    gap = [Span(TEST_AT - 100 * HOUR, TEST_AT - 20 * HOUR), Span(TEST_AT - 19 * HOUR, TEST_AT)]

    assert dry(covered=gap).verdict is DryVerdict.NOT_COVERED
    assert dry(rain(5), covered=gap).verdict is DryVerdict.WET


@pytest.mark.parametrize(
    ("stated_h", "contradicts", "asks"),
    [
        (None, False, True),
        (48, True, True),
        (24, True, True),
        (6, False, False),
        (6.9, False, False),
        (1, True, True),
    ],
)
def test_what_was_written_is_held_to_rain_five_hours_before(stated_h, contradicts, asks):
    found = dry(rain(5), stated_h=stated_h)

    assert (found.contradicts, found.asks_for_a_look) == (contradicts, asks)


@pytest.mark.parametrize(("stated_h", "contradicts"), [(None, False), (72, False), (24, False), (3, True)])
def test_what_was_written_is_held_to_a_dry_week(stated_h, contradicts):
    assert dry(stated_h=stated_h).contradicts is contradicts


def test_nothing_is_contradicted_by_a_record_that_does_not_cover_it():
    assert not dry(covered=[], stated_h=3.0).contradicts


@given(
    st.lists(st.tuples(st.floats(-20, 200), st.floats(0.1, 24), st.floats(RAIN_COUNTS_MM, 9)), max_size=8),
    st.floats(0, 86_399),
    st.randoms(use_true_random=False),
)
def test_the_range_holds_whatever_the_rain_and_the_test_really_did(falls, second, chance):
    """Drawn anew: each row's rain falls at one instant of its span, the test at one of the day.

    Every row is rain by itself; that smaller ones count as far as they make a shower is told below.
    """
    rows = [rain(before, length, depth) for before, length, depth in falls]
    tested_at = THAT_DAY.begins + timedelta(seconds=second)
    fell = [row.span.begins + chance.random() * (row.span.ends - row.span.begins) for row in rows]
    since = [(tested_at - at) / HOUR for at in fell if at <= tested_at]

    found = dry(*rows, tested=THAT_DAY)

    if since:
        assert min(since) >= found.least_h - 1e-6
    if found.most_h is not None:
        assert min(since) <= found.most_h + 1e-6


def test_hours_told_wrongly_on_the_dry_side_ask_for_no_look():
    found = dry(rain(30), stated_h=100.0)

    assert found.contradicts
    assert not found.asks_for_a_look


def test_a_drizzle_below_the_tip_in_each_row_is_rain_as_a_whole():
    """Five minutes of 0.1 mm, for an hour, two hours before."""
    drizzle = [rain(2 + number / 12, 1 / 12, 0.1) for number in range(12)]

    assert dry(*drizzle).verdict is DryVerdict.WET
    assert dry(drizzle[0]).verdict is DryVerdict.DRY
    assert dry(drizzle[0], rain(5, 1 / 12, 0.1)).verdict is DryVerdict.DRY  # two tips, hours apart


def test_a_record_that_ends_before_an_untimed_test_knows_nothing_of_its_day():
    until_midnight = [Span(TEST_AT - 500 * HOUR, THAT_DAY.begins)]

    found = dry(tested=THAT_DAY, covered=until_midnight, stated_h=3.0)

    assert found.verdict is DryVerdict.NOT_COVERED
    assert not found.contradicts


def test_nothing_is_known_to_be_dry_beyond_a_gap():
    begins_30_h_before = [Span(TEST_AT - 30 * HOUR, TEST_AT + HOUR)]
    gap = [Span(TEST_AT - 900 * HOUR, TEST_AT - 100 * HOUR), Span(TEST_AT - 28 * HOUR, TEST_AT + HOUR)]

    assert dry(covered=begins_30_h_before).least_h == pytest.approx(30.0)
    found = dry(rain(120), covered=gap)
    assert (found.least_h, found.verdict) == (pytest.approx(28.0), DryVerdict.DRY)
