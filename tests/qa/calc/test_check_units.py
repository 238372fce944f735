"""Bounds and readings of construction checks in the units of who reads."""

from dataclasses import replace

import pytest

from core.calc.units import UnitSystem
from qa.calc import check_sources as src
from qa.calc.check_model import Check, Stage
from qa.calc.check_units import in_units, judge, quantity_of, reading_text, shown_unit, shown_value

LIFT = Check("lift", Stage.BASE, "Thickness.", src.OWN, "Thinner.", unit="mm", least=40.0, most=150.0)
SI, US = UnitSystem.SI, UnitSystem.US


@pytest.mark.parametrize(
    ("value", "unit", "si", "us"),
    [
        (152.4, "mm", "152.4 mm", "6 in"),
        (6.0, "mm", "6 mm", "0.2362 in"),
        (6.35, "mm", "6.35 mm", "1/4 in"),
        (79.375, "mm", "79.38 mm", "3 1/8 in"),
        (80.0, "kg/m³", "80 kg/m³", "4.994 lb/ft³"),
        (254.0, "mm/h", "254 mm/h", "10 in/h"),
        (5.0, "°C", "5 °C", "41 °F"),
        (33.3333, "%", "33.33 %", "33.33 %"),
        (24.0, "h", "24 h", "24 h"),
        (3.0, "", "3", "3"),
    ],
)
def test_a_reading_is_told_to_four_digits_in_the_readers_units(value, unit, si, us):
    assert (reading_text(value, unit, SI), reading_text(value, unit, US)) == (si, us)


def test_bounds_that_nobody_printed_in_inches_are_converted_and_worded_to_four_digits():
    worded = in_units(LIFT, US)

    assert (worded.least, worded.most) == pytest.approx((40 / 25.4, 150 / 25.4))
    assert worded.range_text == "1.575 to 5.906 in"
    assert in_units(LIFT, SI) == LIFT


@pytest.mark.parametrize(
    ("reading_in", "passes"), [(1.5, True), (2.0, True), (2.01, False), (1.49, False), (1.75, True)]
)
def test_a_reading_in_inches_is_judged_by_what_is_printed_in_inches(reading_in, passes):
    """2 in are 50.8 mm, and 1 1/2 in 38.1 mm: both lie outside 40 to 50 mm, and both are textbook bedding."""
    bedding = replace(LIFT, most=50.0, least_us=1.5, most_us=2.0)

    assert judge(bedding, reading_in * 25.4, None, US).passed == passes
    assert judge(bedding, 50.8, None, SI).passed is False


def test_a_tolerance_about_a_design_is_that_of_the_system_of_the_reading():
    base = replace(LIFT, least=-15.0, most=15.0, least_us=-0.5, most_us=0.5, against_design=True)

    assert judge(base, 101.6 + 12.7, 101.6, US).passed
    refused = judge(base, 101.6 + 14.0, 101.6, US)
    assert (
        refused.reason
        == "4.551 in, +0.5512 from the design of 4; -1/2 to +1/2 in of the design is asked. Thinner."
    )
    assert judge(base, 101.6 + 14.0, 101.6, SI).passed


def test_a_tolerance_of_a_temperature_is_a_difference():
    tolerance = replace(LIFT, unit="°C", least=-5.0, most=5.0, against_design=True)

    assert in_units(tolerance, US).range_text == "-9 to +9 °F of the design"


def test_a_missing_bound_stays_missing():
    worded = in_units(replace(LIFT, least=None), US)

    assert (worded.least, worded.most) == (None, pytest.approx(150 / 25.4))


def test_what_everybody_reads_in_one_unit_is_left_as_it_is():
    in_percent = replace(LIFT, unit="%")

    assert in_units(in_percent, US) == in_percent
    assert (quantity_of("%"), shown_unit("%", US), shown_value(2.0, "%", US)) == (None, "%", 2.0)
