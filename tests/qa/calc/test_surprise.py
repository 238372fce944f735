"""Results far from what was expected: when they are asked about, and in which words."""

import pytest

from core.calc.bounds import Bound
from core.calc.units import UnitSystem
from qa.calc.surprise import FAR, ExpectedRate, surprise, surprise_words

EXPECTED = ExpectedRate(600.0, 400.0, 900.0)


@pytest.mark.parametrize(
    ("rate", "way"),
    [
        (600.0, ""),
        (1800.0, ""),
        (1800.1, "above"),
        (4_580_000.0, "above"),
        (200.0, ""),
        (199.9, "below"),
        (0.0, "below"),
    ],
)
def test_a_result_is_odd_from_three_times_or_a_third_on(rate, way):
    assert FAR == 3.0
    assert surprise(rate, Bound.EXACT, EXPECTED) == way


def test_where_little_is_known_the_range_has_to_be_left_as_well():
    vague = ExpectedRate(600.0, 50.0, 5000.0)

    assert surprise(4000.0, Bound.EXACT, vague) == ""
    assert surprise(5001.0, Bound.EXACT, vague) == "above"
    assert surprise(60.0, Bound.EXACT, vague) == ""
    assert surprise(49.0, Bound.EXACT, vague) == "below"


@pytest.mark.parametrize(
    ("rate", "bound", "way"),
    [
        (9000.0, Bound.BELOW, ""),  # it may well be 600
        (9000.0, Bound.ABOVE, "above"),
        (50.0, Bound.BELOW, "below"),
        (50.0, Bound.ABOVE, ""),
        (9000.0, Bound.UNCLEAR, ""),
    ],
)
def test_a_bound_is_odd_only_where_every_rate_it_leaves_is(rate, bound, way):
    assert surprise(rate, bound, EXPECTED) == way


def test_without_a_rate_nothing_is_odd():
    assert surprise(None, Bound.EXACT, EXPECTED) == ""


def test_the_words_name_the_result_the_expectation_and_what_to_look_at():
    said = surprise_words(3000.0, "above", EXPECTED, UnitSystem.SI).replace("\u00a0", " ")

    assert said.startswith(
        "3000 mm/h is 5 times as fast as expected here: 600 mm/h, most likely 400 mm/h to 900 mm/h."
    )
    assert "the clock, the mass of water and the spot" in said


def test_a_slow_result_is_told_in_the_readers_units():
    said = surprise_words(100.0, "below", EXPECTED, UnitSystem.US)

    assert "6 times slower than expected here" in said
    assert "in/h" in said
    assert "mm/h" not in said


def test_a_result_of_nothing_divides_by_nothing():
    assert "times slower" in surprise_words(0.0, "below", EXPECTED, UnitSystem.SI)
