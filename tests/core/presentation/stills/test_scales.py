"""Axes of a still chart: places and ticks of numbers, powers of ten, days and names."""

from datetime import date

import pytest

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
