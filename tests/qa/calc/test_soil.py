"""Soil tests against balances worked by hand, and the design rate that follows."""

from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.soil import (
    Pit,
    SoilRun,
    design_rate_mm_h,
    measured_rate_needed_mm_h,
    run_rate_mm_h,
    soil_rate,
)


def test_a_double_ring_reads_the_fall_over_the_time():
    assert run_rate_mm_h(SoilRun(120, 100, 40), None) == pytest.approx(30)


def test_in_a_pit_the_sides_take_their_share():
    """A pit of 1 m by 0.5 m with 350 mm mean depth: 0.5 m² floor, 3 m of side, 1.05 m² wetted: 1.55 / 0.5 = 3.1."""
    assert run_rate_mm_h(SoilRun(400, 300, 60), Pit(1000, 500)) == pytest.approx(100 / 3.1)


def test_a_square_pit_agrees_with_the_exact_fall_for_a_small_step():
    """dH/dt = -f (1 + 4 H / a): H + a/4 falls exponentially, so the time between two levels is known exactly."""
    side, f = 600.0, 12.0
    start, end = 300.0, 290.0
    hours = side / (4 * f) * log((start + side / 4) / (end + side / 4))

    assert run_rate_mm_h(SoilRun(start, end, hours * 60), Pit(side, side)) == pytest.approx(f, rel=1e-4)


@given(st.floats(1, 2000), st.floats(0, 1), st.floats(0.1, 1000), st.floats(100, 5000), st.floats(100, 5000))
def test_a_pit_never_reads_faster_than_its_fall(start, share, minutes, length, width):
    run = SoilRun(start, start * share, minutes)

    assert 0 <= run_rate_mm_h(run, Pit(length, width)) <= run_rate_mm_h(run, None)


def test_the_last_run_counts_and_two_that_agree_within_a_tenth_are_steady():
    wet = soil_rate([SoilRun(100, 60, 60), SoilRun(100, 80, 60), SoilRun(100, 81, 60)])
    dry = soil_rate([SoilRun(100, 60, 60), SoilRun(100, 80, 60)])

    assert (wet.rate_mm_h, wet.is_steady) == (19, True)
    assert (dry.rate_mm_h, dry.is_steady) == (20, False)
    assert not soil_rate([SoilRun(100, 60, 60)]).is_steady


def test_the_design_rate_is_the_measured_one_over_the_factor():
    assert design_rate_mm_h(24, 2.5) == pytest.approx(9.6)
    assert measured_rate_needed_mm_h(8, 3) == 24
    assert measured_rate_needed_mm_h(8, None) == 16


@pytest.mark.parametrize(
    ("call", "error", "message"),
    [
        (lambda: soil_rate([]), IncompleteRecordError, "at least 1 run, got 0"),
        (lambda: run_rate_mm_h(SoilRun(80, 100, 10), None), ImpossibleRecordError, "rose from 80 to 100 mm"),
        (lambda: run_rate_mm_h(SoilRun(80, -1, 10), None), ImpossibleRecordError, "0 mm or more, got -1"),
        (lambda: run_rate_mm_h(SoilRun(80, 10, 0), None), ImpossibleRecordError, "more than 0 min, got 0"),
        (lambda: run_rate_mm_h(SoilRun(80, 10, 5), Pit(0, 50)), ImpossibleRecordError, "Length of the pit"),
        (lambda: run_rate_mm_h(SoilRun(80, 10, 5), Pit(50, 0)), ImpossibleRecordError, "Width of the pit"),
        (lambda: design_rate_mm_h(10, 0.5), ImpossibleRecordError, "1 or more, got 0.5"),
        (lambda: design_rate_mm_h(-1, 2), ImpossibleRecordError, "0 mm/h or more, got -1"),
    ],
)
def test_what_cannot_be_is_refused_with_its_value(call, error, message):
    with pytest.raises(error, match=message):
        call()


# Falls over an hour, so that each is its own rate; the last two agree where they differ by a tenth of the larger.
@pytest.mark.parametrize(
    ("falls_mm", "steady"),
    [
        ([20, 18], True),  # 2 of 20
        ([20, 17.9], False),
        ([18, 20], True),
        ([40, 20, 22], True),  # 2 of 22; the first run no longer matters
        ([40, 20, 22.3], False),
        ([20, 40, 20], False),
        ([20, 20, 40], False),
        ([19, 20, 20, 10], False),
        ([0, 0], True),
    ],
)
def test_only_the_last_two_runs_say_whether_the_rate_is_steady(falls_mm, steady):
    found = soil_rate([SoilRun(100, 100 - fall, 60) for fall in falls_mm])

    assert found.by_run_mm_h == pytest.approx(tuple(falls_mm))
    assert (found.rate_mm_h, found.is_steady) == (pytest.approx(falls_mm[-1]), steady)


def test_a_factor_of_one_leaves_the_measured_rate_and_no_soil_rate_is_a_rate():
    assert design_rate_mm_h(24, 1) == 24
    assert design_rate_mm_h(0, 2) == 0


@given(st.floats(1, 2000), st.floats(0, 1), st.floats(0.1, 1000), st.floats(100, 5000), st.floats(100, 5000))
def test_a_pit_turned_by_a_quarter_reads_the_same(start, share, minutes, length, width):
    run = SoilRun(start, start * share, minutes)

    assert run_rate_mm_h(run, Pit(length, width)) == pytest.approx(run_rate_mm_h(run, Pit(width, length)))
