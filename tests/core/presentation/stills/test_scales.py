"""Axes of a still chart: places and ticks of numbers, powers of ten, days and names."""

from datetime import date
from itertools import pairwise

import pytest
from django.utils.translation import override
from hypothesis import given, settings
from hypothesis import strategies as st

from core.presentation.stills.scales import scale_of, ticks_of


def labels(axis, values, start=0.0, end=100.0):
    scale = scale_of(axis, values, start, end)
    return [tick.label for tick in ticks_of(scale, axis)]


def test_a_number_lies_between_the_ends_as_it_lies_in_the_range():
    scale = scale_of({"range": [0, 10]}, [3], 20.0, 120.0)

    assert scale.at(0) == 20.0
    assert scale.at(2.5) == 45.0
    assert scale.at(None) is None
    assert scale.at(float("nan")) is None


def test_heights_grow_upwards_and_a_reversed_axis_downwards():
    up = scale_of({"range": [0, 10]}, [1], 100.0, 0.0)
    down = scale_of({"range": [0, 10], "autorange": "reversed"}, [1], 100.0, 0.0)

    assert (up.at(0), up.at(10)) == (100.0, 0.0)
    assert (down.at(0), down.at(10)) == (0.0, 100.0)


def test_a_log_axis_names_its_range_as_powers_and_has_no_place_for_nought():
    scale = scale_of({"type": "log", "range": [1, 3]}, [100], 0.0, 100.0)

    assert scale.at(100) == pytest.approx(50.0)
    assert scale.at(0) is None
    assert [tick.label for tick in ticks_of(scale, {})] == ["10", "100", "1000"]


def test_a_short_log_axis_has_ticks_between_its_powers():
    assert labels({"type": "log", "range": [2, 3]}, [200]) == ["100", "200", "500", "1000"]


def test_days_are_ticked_by_whole_years_that_are_not_too_many():
    few = labels({"type": "date"}, ["2024-06-01", "2026-02-01"])
    many = labels({"type": "date", "range": ["1990-01-01", "2030-01-01"]}, [])

    assert few == ["2025", "2026"]
    assert many == ["1990", "2000", "2010", "2020", "2030"]


def test_a_day_lies_by_its_share_of_the_time():
    scale = scale_of({"type": "date", "range": ["2026-01-01", "2026-12-31"]}, [], 0.0, 364.0)

    assert scale.at("2026-01-11") == pytest.approx(10.0)
    assert date.fromordinal(int(scale.low)) == date(2026, 1, 1)


def test_names_have_a_place_each_and_a_name_not_among_them_none():
    scale = scale_of({}, ["a", "b", "a"], 0.0, 100.0)

    assert (scale.at("a"), scale.at("b"), scale.at("c")) == (25.0, 75.0, None)
    assert [tick.label for tick in ticks_of(scale, {})] == ["a", "b"]


@pytest.mark.parametrize(
    ("values", "axis", "expected"),
    [
        ([0, 1], {"rangemode": "tozero"}, ["0", "0.5", "1.0"]),
        ([0, 16_000], {"rangemode": "tozero"}, ["0", "5\u202f000", "10\u202f000", "15\u202f000"]),
        ([2025, 2027], {"dtick": 1}, ["2025", "2026", "2027"]),
        ([-20, 20], {"ticksuffix": " mm"}, ["-20 mm", "-10 mm", "0 mm", "10 mm", "20 mm"]),
    ],
)
def test_ticks_stand_at_round_numbers(values, axis, expected):
    assert labels(axis, values) == expected


def test_ticks_that_a_figure_names_are_taken_and_those_out_of_view_left_out():
    axis = {
        "type": "log",
        "range": [0, 1],
        "tickvals": [0, 0.1, 1, 5, 100],
        "ticktext": ["", "a", "b", "c", "d"],
    }

    assert labels(axis, []) == ["b", "c"]


@pytest.mark.parametrize("values", [[], [7], [0.0, 0.0], [None]])
def test_a_range_of_no_width_is_given_one(values):
    scale = scale_of({}, values, 0.0, 100.0)

    assert scale.high > scale.low


@pytest.mark.parametrize("value", [float("inf"), float("-inf"), float("nan")])
@pytest.mark.parametrize("kind", ["linear", "log"])
def test_what_is_no_number_has_no_place_and_does_not_widen_the_range(kind, value):
    scale = scale_of({"type": kind}, [1.0, 10.0, value], 0.0, 100.0)

    assert scale.at(value) is None
    assert (scale.at(1.0), scale.at(10.0)) == (
        pytest.approx(100 * 0.05 / 1.1),
        pytest.approx(100 * 1.05 / 1.1),
    )


def test_a_range_has_a_twentieth_of_room_on_either_side_and_nought_none_below_it():
    free = scale_of({}, [10, 30], 0.0, 1.0)
    from_nought = scale_of({"rangemode": "tozero"}, [10, 30], 0.0, 1.0)
    below = scale_of({"rangemode": "tozero"}, [-30, -10], 0.0, 1.0)

    assert (free.low, free.high) == (9.0, 31.0)
    assert (from_nought.low, from_nought.high) == (0.0, 31.0)
    assert (below.low, below.high) == (-30.0, 0.0)


def test_a_day_with_its_hour_lies_on_the_day():
    scale = scale_of({"type": "date", "range": ["2026-01-01", "2026-01-11"]}, [], 0.0, 100.0)

    assert scale.at("2026-01-06T23:59:00") == pytest.approx(50.0)
    assert scale.at(date(2026, 1, 6)) == pytest.approx(50.0)


def test_many_years_are_thinned_to_one_in_two_five_or_ten():
    ten = labels({"type": "date", "range": ["2020-06-01", "2032-06-01"]}, [])
    thirty = labels({"type": "date", "range": ["2001-06-01", "2026-06-01"]}, [])

    assert ten == ["2025", "2030"]
    assert thirty == ["2005", "2010", "2015", "2020", "2025"]


def test_names_are_told_once_in_the_order_in_which_they_come():
    scale = scale_of({}, ["b", "a", "b", "c"], 0.0, 300.0)

    assert scale.names == ("b", "a", "c")
    assert [scale.at(name) for name in "bac"] == [50.0, 150.0, 250.0]


def test_a_position_among_names_may_be_a_number_as_lines_across_are_placed():
    scale = scale_of({}, ["a", "b"], 0.0, 100.0)

    assert scale.at(0.5) == 50.0


@pytest.mark.parametrize(
    ("range_", "ticks"),
    [
        ([0, 0.3], ["0", "0.1", "0.2", "0.3"]),
        ([0, 100], ["0", "20", "40", "60", "80", "100"]),
        ([0, 26], ["0", "10", "20"]),
        ([-1, 1], ["-1.0", "-0.5", "0", "0.5", "1.0"]),
        ([0, 25_000], ["0", "5\u202f000", "10\u202f000", "15\u202f000", "20\u202f000", "25\u202f000"]),
    ],
)
def test_a_step_is_one_two_or_five_times_a_power_of_ten(range_, ticks):
    assert labels({"range": range_}, []) == ticks


def test_years_are_written_without_a_parting_of_thousands():
    assert labels({"range": [9_999, 10_001], "dtick": 1}, []) == ["9999", "10000", "10001"]


def test_ticks_that_a_figure_names_without_words_are_written_as_numbers():
    assert labels({"range": [0, 20_000], "tickvals": [0, 12_345]}, []) == ["0", "12\u202f300"]


def test_as_many_words_as_ticks_are_asked_for():
    with pytest.raises(ValueError, match="zip"):
        labels({"range": [0, 1], "tickvals": [0, 1], "ticktext": ["only one"]}, [])


ENDS = st.floats(-1e6, 1e6)


@settings(max_examples=100, deadline=None)
@given(ENDS, st.floats(1e-3, 1e6))
def test_ticks_lie_in_view_evenly_and_are_neither_too_few_nor_too_many(low, width):
    scale = scale_of({"range": [low, low + width]}, [], 0.0, 100.0)

    at = [tick.at for tick in ticks_of(scale, {})]

    assert 2 <= len(at) <= 6
    assert scale.low - 1e-6 * width <= at[0] <= at[-1] <= scale.high + 1e-6 * width
    steps = [b - a for a, b in pairwise(at)]
    assert steps == pytest.approx([steps[0]] * len(steps), rel=1e-3)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.floats(1e-3, 1e6), min_size=1, max_size=20), st.sampled_from(["linear", "log"]))
def test_every_value_lies_within_the_drawing_in_the_order_of_the_values(values, kind):
    scale = scale_of({"type": kind}, values, 20.0, 390.0)

    places = [scale.at(value) for value in sorted(values)]

    assert all(20.0 - 1e-6 <= place <= 390.0 + 1e-6 for place in places)
    assert places == sorted(places)


def test_ticks_are_written_with_the_marks_of_the_readers_language():
    with override("fr"):
        assert "0,5" in labels({}, [0, 1])
        assert "50\u202f000" in labels({}, [0, 100_000])
