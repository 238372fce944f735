"""How long the stone takes to run empty, from levels in the well."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.drain_down import DrainJudgement, WellReading, drain_down, drain_limit, judge_drain_down

READINGS_AT = st.lists(st.floats(0.0, 0.95), min_size=2, max_size=6, unique_by=lambda share: round(share, 2))


def falling(depth_mm, hours, shares):
    """Levels of water that falls evenly from depth_mm to nothing within so many hours, at shares of that time."""
    return [WellReading(share * hours, depth_mm * (1 - share)) for share in shares]


@given(depth_mm=st.floats(100.0, 900.0), hours=st.floats(1.0, 200.0), first=st.floats(0.0, 0.5))
def test_water_that_falls_evenly_is_gone_when_the_line_says(depth_mm, hours, first):
    found = drain_down(falling(depth_mm, hours, (first, 0.6, 0.7)))

    assert found.estimate_h == pytest.approx(hours)
    assert found.at_least_h == pytest.approx(0.7 * hours)
    assert found.at_most_h is None


@given(depth_mm=st.floats(200.0, 900.0), hours=st.floats(1.0, 200.0), shares=READINGS_AT)
def test_what_was_seen_holds_the_truth_and_the_order_of_writing_does_not_matter(depth_mm, hours, shares):
    readings = [*falling(depth_mm, hours, shares), WellReading(hours * 1.2, 0.0)]

    found, backwards = drain_down(readings), drain_down(readings[::-1])

    assert found == backwards
    assert found.at_least_h <= hours <= found.at_most_h
    assert found.estimate_h is None or found.at_least_h <= found.estimate_h <= found.at_most_h


@given(scale=st.floats(1.0, 20.0))
def test_the_time_does_not_depend_on_where_the_depth_is_measured_in(scale):
    plain = drain_down(falling(300.0, 12.0, (0.0, 0.5)))

    scaled = drain_down(falling(300.0 * scale, 12.0, (0.0, 0.5)))

    assert scaled.estimate_h == pytest.approx(plain.estimate_h)


@given(
    limit_h=st.floats(1.0, 500.0),
    further_h=st.floats(0.0, 500.0),
    hours=st.floats(2.0, 300.0),
    dry=st.booleans(),
)
def test_a_longer_limit_never_makes_a_well_too_slow(limit_h, further_h, hours, dry):
    readings = falling(400.0, hours, (0.1, 0.6)) + ([WellReading(hours, 0.0)] if dry else [])
    found = drain_down(readings)

    strict, lenient = (judge_drain_down(found, limit) for limit in (limit_h, limit_h + further_h))

    assert strict is DrainJudgement.TOO_SLOW or lenient is not DrainJudgement.TOO_SLOW


def test_a_well_that_was_dry_at_the_first_look_was_empty_by_then():
    found = drain_down([WellReading(40.0, 0.0)])

    assert (found.at_least_h, found.at_most_h, found.estimate_h) == (0.0, 40.0, None)
    assert judge_drain_down(found, 40.0) is DrainJudgement.IN_TIME
    assert judge_drain_down(found, 39.9) is DrainJudgement.CANNOT_TELL


def test_one_level_says_only_that_water_stood():
    found = drain_down([WellReading(48.0, 120.0)])

    assert judge_drain_down(found, 72.0) is DrainJudgement.CANNOT_TELL
    assert judge_drain_down(found, 47.0) is DrainJudgement.TOO_SLOW


def test_a_fall_within_the_error_of_a_tape_gives_no_estimate():
    found = drain_down([WellReading(2.0, 120.0), WellReading(3.0, 116.0)])

    assert found.estimate_h is None


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ([(1.0, -2.0)], "-2 mm cannot be"),
        ([(-1.0, 20.0)], "-1 h after the rain cannot be"),
        ([(1.0, 20.0), (1.0, 10.0)], "Two levels are given for 1 h"),
        ([(1.0, 20.0), (5.0, 60.0)], "rose from 20 mm after 1 h to 60 mm after 5 h"),
        ([(1.0, 0.0), (5.0, 3.0)], "rose from 0 mm after 1 h to 3 mm after 5 h"),
    ],
)
def test_levels_that_cannot_be_are_refused_with_the_value(readings, said):
    with pytest.raises(ImpossibleRecordError, match=said):
        drain_down([WellReading(*reading) for reading in readings])


def test_a_well_without_a_level_says_nothing():
    with pytest.raises(IncompleteRecordError, match="Read the level"):
        drain_down([])


@pytest.mark.parametrize(
    ("agreed_h", "preset", "hours"),
    [
        (48.0, "ontario", 48.0),
        (None, "ontario", 96.0),
        (None, "new_jersey", 72.0),
        (None, "netherlands", None),
    ],
)
def test_what_was_agreed_stands_before_the_rule_of_the_limit(agreed_h, preset, hours):
    limit = drain_limit(agreed_h, preset)

    assert (limit.hours if limit else None) == hours
