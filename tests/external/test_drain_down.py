"""The drain-down read in a well against the drain-down time of the sizing guides, t = d n / f.

Formula: Ontario low impact development guide (STEP), permeable pavement sizing (looked up). The figures are the
arithmetic of that formula; the bound of 72 h is inclusive ("within 72 hours": New Jersey Stormwater BMP Manual,
ch. 9.6, looked up).
"""

import pytest

from core.calc.units import MM_PER_IN
from qa.calc.drain_down import DrainJudgement, WellReading, drain_down, judge_drain_down


@pytest.mark.parametrize(
    ("depth_mm", "porosity", "soil_mm_h", "expected_h"),
    [
        (300.0, 0.4, 10.0, 12.0),
        (450.0, 0.4, 3.0, 60.0),
        (12 * MM_PER_IN, 0.4, 0.5 * MM_PER_IN, 9.6),
        (18 * MM_PER_IN, 0.4, 0.1 * MM_PER_IN, 72.0),
    ],
)
def test_two_levels_give_the_time_of_the_guides(depth_mm, porosity, soil_mm_h, expected_h):
    fall_mm_h = soil_mm_h / porosity
    readings = [WellReading(hours, depth_mm - fall_mm_h * hours) for hours in (0.0, expected_h / 3)]

    found = drain_down(readings)

    assert found.estimate_h == pytest.approx(expected_h)


def test_seventy_two_hours_are_in_time_and_more_are_not():
    found = drain_down([WellReading(0.0, 457.2), WellReading(72.0, 0.0)])

    assert judge_drain_down(found, 72.0) is DrainJudgement.IN_TIME
    assert judge_drain_down(drain_down([WellReading(72.5, 10.0)]), 72.0) is DrainJudgement.TOO_SLOW
