"""Bounds and readings of construction checks in the units of who reads."""

from dataclasses import replace

import pytest

from core.calc.units import UnitSystem
from qa.calc import check_sources as src
from qa.calc.check_model import Check, Stage
from qa.calc.check_units import in_units, quantity_of, reading_text, shown_unit, shown_value

LIFT = Check("lift", Stage.BASE, "Thickness.", src.OWN, "Thinner.", unit="mm", least=40.0, most=150.0)
SI, US = UnitSystem.SI, UnitSystem.US


@pytest.mark.parametrize(
    ("value", "unit", "si", "us"),
    [
        (152.4, "mm", "152.4 mm", "6 in"),
        (6.0, "mm", "6 mm", "0.2362 in"),
        (254.0, "mm/h", "254 mm/h", "10 in/h"),
        (5.0, "°C", "5 °C", "41 °F"),
        (33.3333, "%", "33.33 %", "33.33 %"),
        (24.0, "h", "24 h", "24 h"),
        (3.0, "", "3", "3"),
    ],
)
def test_a_reading_is_told_to_four_digits_in_the_readers_units(value, unit, si, us):
    assert (reading_text(value, unit, SI), reading_text(value, unit, US)) == (si, us)


def test_bounds_are_worded_in_the_readers_units_to_the_hundredth():
    worded = in_units(LIFT, US)

    assert (worded.least, worded.most, worded.unit) == (1.57, 5.91, "in")
    assert worded.range_text == "1.57 to 5.91 in"
    assert in_units(LIFT, SI) is LIFT


def test_a_missing_bound_stays_missing():
    worded = in_units(replace(LIFT, least=None), US)

    assert (worded.least, worded.most) == (None, 5.91)


def test_what_everybody_reads_in_one_unit_is_left_as_it_is():
    in_percent = replace(LIFT, unit="%")

    assert in_units(in_percent, US) is in_percent
    assert (quantity_of("%"), shown_unit("%", US), shown_value(2.0, "%", US)) == (None, "%", 2.0)
