"""Where the rain of a period goes: a case by hand, and what must hold whatever falls."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import ImpossibleRecordError
from qa.calc.rain import Reservoir
from qa.calc.rain_record import Fall, Span
from qa.calc.water_balance import (
    LEAST,
    MIDDLE,
    MOST,
    Assumed,
    RainRow,
    RateOverTime,
    by_the_hour,
    clipped,
    covered_days,
    rows_of,
    water_balance,
)

START = datetime(2026, 3, 1, tzinfo=UTC)
HOUR = timedelta(hours=1)
PLAIN = Assumed(run_off_share=0.5, wetting_mm=1.0, rain_within_h=24.0, reuse_lasts_h=24.0)
OPEN_STONE = Reservoir(below_overflow_mm=1000.0, soil_rate_mm_h=50.0)


def at(hours):
    return START + hours * HOUR


def fall(begins_h, depth_mm, lasts_h=1.0):
    return Fall(Span(at(begins_h), at(begins_h + lasts_h)), depth_mm)


def row(begins_h, depth_mm, lasts_h=1.0):
    return RainRow(begins_h, lasts_h, depth_mm)


def always(rate_mm_h):
    return RateOverTime([0.0], [rate_mm_h])


def test_a_case_worked_by_hand():
    """Two hours of rain on a surface with as much ground again that drains on to it, half of which runs off.

    Hour 0: 11 mm. 1 mm wets; 10 mm on 1.5 areas are 15 mm, all taken. Soil takes 5, 10 stay in the stone.
    Hour 1: 21 mm, nothing more wets; 31.5 mm come, the surface takes 20, 11.5 run off. Soil takes 5; stone holds 12,
    so that of 10 + 15 there rise 13 to the overflow; the store for irrigation has room for 8, 5 run off.
    Then dry for 2 h: the soil takes 10 of the 12.
    """
    stone = Reservoir(below_overflow_mm=12.0, soil_rate_mm_h=5.0, reuse_mm=8.0, has_pipe=True)

    found = water_balance([row(0, 11.0), row(1, 21.0)], 1.0, stone, PLAIN, always(20.0), 4.0)

    assert found.came == pytest.approx(1.5 * 32.0)
    assert found.lost == pytest.approx(1.5 * 1.0)
    assert found.ran_off == pytest.approx(11.5 + 5.0)
    assert found.kept == pytest.approx(8.0)
    assert found.ground == pytest.approx(5.0 + 5.0 + 10.0)
    assert found.standing == pytest.approx(2.0)
    assert found.off_mm == pytest.approx(0.0, abs=1e-9)


def test_a_clogged_surface_sheds_what_comes_faster_than_it_takes():
    sheds = water_balance([row(0, 11.0)], 0.0, OPEN_STONE, PLAIN, always(4.0))
    takes = water_balance([row(0, 11.0)], 0.0, OPEN_STONE, PLAIN, always(400.0))

    assert (sheds.ran_off, sheds.ground) == (pytest.approx(6.0), pytest.approx(4.0))
    assert (takes.ran_off, takes.ground) == (pytest.approx(0.0), pytest.approx(10.0))


def test_a_long_row_falls_within_the_hours_that_are_assumed():
    day = [row(0, 25.0, lasts_h=24.0)]

    slow = water_balance(day, 0.0, OPEN_STONE, PLAIN, always(2.0))
    fast = water_balance(day, 0.0, OPEN_STONE, replace(PLAIN, rain_within_h=2.0), always(2.0))

    assert slow.ran_off == pytest.approx(0.0)
    assert fast.ran_off == pytest.approx(24.0 - 2 * 2.0)


def test_a_shower_wets_the_ground_anew_only_after_dry_hours():
    once = water_balance([row(0, 5.0), row(3, 5.0)], 0.0, OPEN_STONE, PLAIN)
    twice = water_balance([row(0, 5.0), row(8, 5.0)], 0.0, OPEN_STONE, PLAIN)

    assert (once.lost, twice.lost) == (pytest.approx(1.0), pytest.approx(2.0))


def test_a_store_that_was_emptied_between_showers_is_filled_again():
    stone = Reservoir(below_overflow_mm=0.0, soil_rate_mm_h=0.0, reuse_mm=4.0, has_pipe=True)
    showers = [row(0, 11.0), row(30, 11.0)]

    emptied = water_balance(showers, 0.0, stone, replace(PLAIN, reuse_lasts_h=1.0))
    full = water_balance(showers, 0.0, stone, replace(PLAIN, reuse_lasts_h=1e6))

    assert (emptied.kept, full.kept) == (pytest.approx(8.0), pytest.approx(4.0, abs=1e-3))


def test_without_a_pipe_nothing_is_kept_for_irrigation():
    stone = Reservoir(below_overflow_mm=0.0, soil_rate_mm_h=0.0, reuse_mm=4.0, has_pipe=False)

    found = water_balance([row(0, 11.0)], 0.0, stone, PLAIN)

    assert (found.kept, found.ran_off) == (0.0, pytest.approx(10.0))


@pytest.mark.parametrize(
    ("ratio", "changed"),
    [
        (-0.1, {}),
        (0.0, {"run_off_share": 1.1}),
        (0.0, {"wetting_mm": -1.0}),
        (0.0, {"rain_within_h": 0.0}),
        (0.0, {"reuse_lasts_h": 0.0}),
    ],
)
def test_what_cannot_be_is_refused(ratio, changed):
    with pytest.raises(ImpossibleRecordError):
        water_balance([row(0, 1.0)], ratio, OPEN_STONE, replace(PLAIN, **changed))


DEPTHS = st.lists(st.floats(0.01, 80.0), min_size=1, max_size=12)
GAPS = st.lists(st.floats(0.0, 60.0), min_size=12, max_size=12)
STONES = st.builds(
    Reservoir,
    below_overflow_mm=st.floats(0.0, 200.0),
    soil_rate_mm_h=st.floats(0.0, 60.0),
    reuse_mm=st.floats(0.0, 50.0),
    has_pipe=st.booleans(),
)
CASES = st.sampled_from((LEAST, MIDDLE, MOST))


def showers(depths, gaps):
    begins, found = 0.0, []
    for depth, gap in zip(depths, gaps, strict=False):
        begins += gap
        found.append(row(begins, depth))
        begins += 1.0
    return found


@settings(max_examples=50, deadline=None)
@given(DEPTHS, GAPS, STONES, CASES, st.floats(0.0, 4.0), st.floats(0.5, 500.0))
def test_what_came_is_all_accounted_for_and_no_part_is_negative(depths, gaps, stone, case, ratio, rate):
    found = water_balance(showers(depths, gaps), ratio, stone, case, always(rate), 2000.0)

    assert found.came == pytest.approx(sum(depths) * (1 + case.run_off_share * ratio))
    assert found.off_mm == pytest.approx(0.0, abs=1e-6)
    for part in (found.lost, found.ran_off, found.ground, found.kept, found.standing):
        assert part >= -1e-9
    assert stone.soil_rate_mm_h or found.ground == 0.0


@settings(max_examples=50, deadline=None)
@given(DEPTHS, GAPS, STONES, CASES, st.floats(0.5, 500.0), st.integers(0, 11), st.floats(0.1, 50.0))
def test_more_rain_makes_no_part_smaller(depths, gaps, stone, case, rate, where, more):
    wetter = [*depths]
    wetter[where % len(depths)] += more

    less, found = (
        water_balance(showers(each, gaps), 0.5, stone, case, always(rate), 2000.0)
        for each in (depths, wetter)
    )

    assert found.ground >= less.ground - 1e-6
    assert found.ran_off + found.kept >= less.ran_off + less.kept - 1e-6
    assert found.kept >= less.kept - 1e-6
    assert found.came > less.came


def test_a_rate_between_two_days_lies_between_theirs_by_its_logarithm():
    rates = RateOverTime([0.0, 10.0, 10.0, 20.0], [100.0, 1.0, 1000.0, 10.0])

    assert rates(-5) == 100.0
    assert rates(5) == pytest.approx(10.0)
    assert rates(10) == pytest.approx(1000.0)  # the cleaning of that day is done
    assert rates(15) == pytest.approx(100.0)
    assert rates(99) == 10.0


def test_rows_are_hours_from_an_instant():
    assert rows_of([fall(30, 4.0, lasts_h=0.5)], at(6)) == [RainRow(24.0, 0.5, 4.0)]


def test_a_surface_that_clogs_within_the_period_sheds_only_then():
    clogging = RateOverTime([0.0, 100.0, 100.0], [50.0, 50.0, 4.0])
    rows = [row(0, 11.0), row(200, 11.0)]

    found = water_balance(rows, 0.0, OPEN_STONE, PLAIN, clogging)

    assert found.ran_off == pytest.approx(6.0)


def test_rain_is_cut_at_the_ends_of_a_period_in_proportion():
    within = Span(at(0), at(10))

    found = clipped([fall(-5, 4.0), fall(-1, 6.0, lasts_h=2.0), fall(9.5, 8.0)], within)

    assert [one.depth_mm for one in found] == [pytest.approx(3.0), pytest.approx(4.0)]
    assert all(within.begins <= one.span.begins < one.span.ends <= within.ends for one in found)


def test_rows_of_minutes_become_hours_without_losing_a_drop():
    minutes = [fall(n / 12, 0.5, lasts_h=1 / 12) for n in range(30)]

    found = by_the_hour(minutes)

    assert len(found) == 3
    assert sum(one.depth_mm for one in found) == pytest.approx(15.0)
    assert by_the_hour([fall(0, 1.0), fall(1, 1.0)]) == [fall(0, 1.0), fall(1, 1.0)]


def test_days_that_a_record_does_not_tell_of_are_not_covered():
    within = Span(at(0), at(240))

    assert covered_days([Span(at(-24), at(48)), Span(at(120), at(400))], within) == pytest.approx(7.0)
    assert covered_days([], within) == 0.0


def test_a_period_without_rain_has_nothing_to_account_for():
    found = water_balance([], 2.0, OPEN_STONE, PLAIN, always(4.0), 100.0)

    assert (found.came, found.lost, found.ran_off, found.ground, found.kept, found.standing) == (0.0,) * 6


def test_a_shower_smaller_than_what_wets_the_ground_leaves_the_rest_of_the_wetting_to_the_next():
    """Of 0.4 mm all wets; of the 5 mm three hours later another 0.6, and 4.4 go into the ground."""
    found = water_balance([row(0, 0.4), row(3, 5.0)], 0.0, OPEN_STONE, PLAIN)

    assert found.lost == pytest.approx(1.0)
    assert found.ground + found.standing == pytest.approx(4.4)


@pytest.mark.parametrize(("dry_h", "wetted_mm"), [(5.99, 1.0), (6.0, 2.0)])
def test_dry_hours_are_counted_from_the_end_of_the_rain(dry_h, wetted_mm):
    found = water_balance([row(0, 5.0, 2.0), row(2 + dry_h, 5.0)], 0.0, OPEN_STONE, PLAIN)

    assert found.lost == pytest.approx(wetted_mm)


def test_all_of_what_drains_on_to_it_is_wetted_as_the_surface_is():
    """With as much ground again and half of it running off, 1 mm of wetting is 1.5 mm over the surface."""
    assert water_balance([row(0, 5.0)], 1.0, OPEN_STONE, PLAIN).lost == pytest.approx(1.5)


def test_what_stands_in_the_stone_soaks_away_until_the_period_ends():
    """10 mm come in an hour in which 1 soaks away; after 4 more hours 5 stand, after 100 none."""
    stone = Reservoir(below_overflow_mm=100.0, soil_rate_mm_h=1.0)

    short, whole = (water_balance([row(0, 11.0)], 0.0, stone, PLAIN, None, ends) for ends in (5.0, 101.0))

    assert (short.ground, short.standing) == (pytest.approx(5.0), pytest.approx(5.0))
    assert (whole.ground, whole.standing) == (pytest.approx(10.0), pytest.approx(0.0))


def test_a_share_that_cannot_run_off_is_named_with_its_value():
    with pytest.raises(ImpossibleRecordError, match=r"1\.5"):
        water_balance([row(0, 1.0)], 1.0, OPEN_STONE, replace(PLAIN, run_off_share=1.5))


def test_the_three_cases_are_in_order_of_what_they_give_to_the_ground():
    assert LEAST.run_off_share < MIDDLE.run_off_share < MOST.run_off_share <= 1
    assert LEAST.wetting_mm > MIDDLE.wetting_mm > MOST.wetting_mm
    assert LEAST.rain_within_h < MIDDLE.rain_within_h < MOST.rain_within_h
    assert LEAST.reuse_lasts_h > MIDDLE.reuse_lasts_h > MOST.reuse_lasts_h


@settings(max_examples=50, deadline=None)
@given(DEPTHS, GAPS, STONES, st.floats(0.5, 500.0), st.floats(0.0, 4.0))
def test_on_an_open_surface_the_least_case_never_gives_the_ground_more_than_the_most(
    depths, gaps, stone, rate, ratio
):
    rows, plain = showers(depths, gaps), replace(stone, reuse_mm=0.0)

    least, most = (water_balance(rows, ratio, plain, case, None, 2000.0) for case in (LEAST, MOST))

    assert least.ground + least.standing <= most.ground + most.standing + 1e-6


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(0.01, 20.0), min_size=1, max_size=40), st.integers(1, 90))
def test_gathering_rows_into_hours_keeps_depth_order_and_ends(depths, minutes):
    falls = [fall(n * minutes / 60, depth, minutes / 60) for n, depth in enumerate(depths)]

    found = by_the_hour(falls)

    assert sum(one.depth_mm for one in found) == pytest.approx(sum(depths))
    assert (found[0].span.begins, found[-1].span.ends) == (falls[0].span.begins, falls[-1].span.ends)
    assert all(a.span.ends <= b.span.begins for a, b in pairwise(found))
    assert all(one.span.ends - one.span.begins <= max(HOUR, timedelta(minutes=minutes)) for one in found)
