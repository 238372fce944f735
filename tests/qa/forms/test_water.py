"""What the water page starts with."""

import pytest

from qa.forms.water import example_rain
from tests.factories import SurfaceFactory


@pytest.mark.parametrize(("agreed_h", "expected_h"), [(48.0, 48.0), (None, 72.0)])
def test_the_time_to_drain_starts_at_what_was_agreed_for_the_surface(agreed_h, expected_h):
    surface = SurfaceFactory.build(site=None, drain_limit_h=agreed_h, limit_preset="")

    assert example_rain(surface, "si")["drain_h"] == expected_h


def test_the_example_of_a_surface_with_a_design_rain_is_an_hour_of_it():
    surface = SurfaceFactory.build(site=None, design_intensity_mm_h=63.0, limit_preset="")

    example = example_rain(surface, "us")

    assert (example["rain_mm"], example["duration_h"]) == (63.0, 1.0)
