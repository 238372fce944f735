"""What a construction check asks, in words."""

from dataclasses import replace

import pytest

from core.calc.paving import SurfaceType
from qa.calc.check_model import HeaviestUse
from qa.calc.checks import checks_for
from qa.presentation.checks import asked_text

CHECKS = {check.key: check for check in checks_for(SurfaceType.PICP, HeaviestUse.VEHICLE, None)}


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_bound_on_an_unknown_design_does_not_read_as_if_anything_passed(units):
    text = asked_text(CHECKS["subgrade_soil_rate"], None, units)

    assert text == "at least the designed value, which is not entered yet"


def test_a_tolerance_about_an_unknown_design_says_that_the_design_is_missing():
    text = asked_text(CHECKS["subgrade_level"], None, "si")

    assert text == "-25 to +25 mm of the design, which is not entered yet"


def test_a_known_design_is_worked_into_the_bound():
    check = replace(CHECKS["subgrade_soil_rate"])

    assert asked_text(check, 12.0, "si") == "at least 12 mm/h (designed: 12 mm/h)"
