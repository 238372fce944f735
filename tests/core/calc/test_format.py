"""Stored values as people read them."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.bounds import Bound
from core.calc.format import (
    NOTHING,
    bound_word,
    counted,
    day,
    figure,
    first_named,
    format_measure,
    format_rate,
    format_short_length,
    format_size,
    percent,
    size_number,
    whole,
)
from core.calc.units import Quantity


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (None, NOTHING),
        (0.0, "under 1 %"),
        (0.00499, "under 1 %"),
        (0.005, "under 1 %"),
        (0.0051, "1\u00a0%"),
        (0.42, "42\u00a0%"),
        (0.994, "99\u00a0%"),
        (0.995, "over 99 %"),
        (0.9951, "over 99 %"),
        (1.0, "over 99 %"),
    ],
)
def test_a_share_is_never_falsely_certain(share, text):
    assert percent(share) == text


@given(share=st.floats(0, 1))
def test_no_share_reads_as_nothing_or_as_everything(share):
    assert percent(share) not in ("0\u00a0%", "100\u00a0%")


@pytest.mark.parametrize(
    ("value", "text"), [(27.5049, "28"), (-0.3, "0"), (-1.6, "-2"), (0.49, "0"), (99.5, "100")]
)
def test_a_whole_number_has_no_decimals_and_no_negative_nothing(value, text):
    assert whole(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (date(2026, 1, 5), "5\u00a0Jan\u00a02026"),
        ("2026-11-30", "30\u00a0Nov\u00a02026"),
        (None, NOTHING),
        ("", NOTHING),
    ],
)
def test_a_day_reads_the_same_everywhere(value, text):
    assert day(value) == text


def test_a_measure_stands_with_its_unit_and_nothing_as_a_dash():
    assert format_rate(254.0, "us") == "10 in/h"
    assert format_rate(0.0, "si") == "0 mm/h"
    assert format_short_length(37.5, "si") == "37.5 mm"
    assert format_measure(None, Quantity.AREA, "si") == NOTHING
    assert (figure(1234.5), figure(0.0), figure(None)) == ("1230", "0", NOTHING)


@pytest.mark.parametrize(
    ("bound", "text"), [(Bound.EXACT, "250"), (Bound.BELOW, "below 250"), (Bound.ABOVE, "above 250")]
)
def test_a_bound_has_its_word_before_it_and_a_value_has_none(bound, text):
    assert bound_word(bound) + "250" == text


@pytest.mark.parametrize(
    ("number", "text"), [(0, "0 spots"), (1, "1 spot"), (2, "2 spots"), (21, "21 spots")]
)
def test_one_thing_is_not_told_as_several(number, text):
    assert counted(number, "spot") == text


@pytest.mark.parametrize(
    ("length_mm", "units", "text"),
    [
        (None, "us", NOTHING),
        (50.8, "si", "50.8 mm"),
        (50.8, "us", "2 in"),
        (63.5, "us", "2 1/2 in"),  # 63.5 / 25.4 = 2.5
        (9.525, "us", "3/8 in"),
        (0.0, "us", "0 in"),
    ],
)
def test_what_is_built_is_told_in_fractions_of_an_inch_as_a_rule_shows_it(length_mm, units, text):
    assert format_size(length_mm, units) == text
    if length_mm is not None:
        assert f"{size_number(length_mm, units)} {text[-2:]}" == text


@pytest.mark.parametrize(
    ("names", "text"),
    [
        ([], ""),
        (["Yard"], "Yard"),
        (["Yard", "Ramp"], "Yard, Ramp"),
        (["Yard", "Ramp", "Court"], "Yard, Ramp and 1 more"),
        (["Yard", "Ramp", "Court", "Lane", "Apron"], "Yard, Ramp and 3 more"),
    ],
)
def test_of_many_names_the_first_are_said_and_how_many_more(names, text):
    assert first_named(names, 2) == text
