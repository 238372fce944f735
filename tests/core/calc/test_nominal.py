"""Sizes as either half of the trade prints them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.format import format_size
from core.calc.nominal import Nominal, inches_text, plain_number, spoken
from core.calc.units import UnitSystem

SI, US = UnitSystem.SI, UnitSystem.US


@pytest.mark.parametrize(
    ("length_in", "text"),
    [
        (2.0, "2"),
        (0.25, "1/4"),
        (3.125, "3 1/8"),
        (2.375, "2 3/8"),
        (-0.375, "-3/8"),
        (0.046875, "3/64"),
        (0.0, "0"),
        (2.37, "2.37"),  # as read off a caliper, not 2 3/8
        (3.9370079, "3.94"),  # 100 mm
        (0.9842520, "0.984"),  # 25 mm is not 63/64 in to anybody
        (12.0, "12"),
    ],
)
def test_inches_stand_as_a_rule_shows_them(length_in, text):
    assert inches_text(length_in) == text


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("2 1/2", 2.5),
        ("2-1/2", 2.5),
        ("3/8", 0.375),
        ("-3/8", -0.375),
        ("2½", 2.5),
        ("¼", 0.25),
        (" 1 1/8 ", 1.125),
        ("2.5", 2.5),
        ("-2", -2.0),
    ],
)
def test_a_fraction_is_read_as_it_is_written(typed, number):
    assert float(plain_number(typed)) == number


@pytest.mark.parametrize("typed", ["1/0", "a/b", "", "1/2/3", "1 2"])
def test_what_is_no_fraction_is_left_for_the_field_to_refuse(typed):
    assert plain_number(typed) == typed


@given(sixteenths=st.integers(-2000, 2000))
def test_every_sixteenth_is_read_back_as_it_was_shown(sixteenths):
    assert float(plain_number(inches_text(sixteenths / 16, 8))) == sixteenths / 16


def test_a_sentence_is_spoken_in_one_system():
    text = "Under a {3 m|10 ft} straightedge, {10 mm|3/8 in} at most."

    assert spoken(text, SI) == "Under a 3 m straightedge, 10 mm at most."
    assert spoken(text, US) == "Under a 10 ft straightedge, 3/8 in at most."
    assert spoken("Nothing {to} say", US) == "Nothing {to} say"


def test_a_size_has_its_figure_in_each_system():
    assert Nominal(80.0, 3.125).in_system(SI) == 80.0
    assert Nominal(80.0, 3.125).in_system(US) == 3.125


@pytest.mark.parametrize(("units", "text"), [("si", "79.4 mm"), ("us", "3 1/8 in")])
def test_a_built_size_is_told_in_the_fractions_of_a_rule(units, text):
    assert format_size(79.375, units) == text
