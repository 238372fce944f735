"""Stored values as people read them."""

from datetime import date

import pytest

from core.calc.format import (
    NOTHING,
    day,
    figure,
    format_measure,
    format_rate,
    format_short_length,
    percent,
    whole,
)
from core.calc.units import Quantity


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (None, NOTHING),
        (0.0, "under 1 %"),
        (0.00499, "under 1 %"),
        (0.005, "0\u00a0%"),
        (0.0051, "1\u00a0%"),
        (0.42, "42\u00a0%"),
        (0.994, "99\u00a0%"),
        (0.9951, "over 99 %"),
        (1.0, "over 99 %"),
    ],
)
def test_a_share_is_never_falsely_certain(share, text):
    assert percent(share) == text


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
