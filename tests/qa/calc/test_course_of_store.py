from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.units import UnitSystem
from qa.calc.rain import Rain, Reservoir, rain_fate, setback_warnings

depths = st.floats(0, 500)
stores = st.builds(
    Reservoir,
    below_overflow_mm=depths,
    soil_rate_mm_h=st.floats(0, 100),
    reuse_mm=depths,
    surface_rate_mm_h=st.none() | st.floats(0, 5000),
    has_pipe=st.booleans(),
)
rains = st.builds(
    Rain,
    depth_mm=depths,
    duration_h=st.floats(0.1, 48),
    peak_factor=st.sampled_from([1.0]) | st.floats(1, 20),
)


def test_it_rises_to_the_overflow_stays_there_and_falls():
    course = rain_fate(Rain(100, 4), 0, Reservoir(30, 5, reuse_mm=25)).course

    assert [point.at_h for point in course] == pytest.approx([0, 1.5, 4, 10])
    assert [point.store_mm for point in course] == pytest.approx([0, 30, 30, 0])


def test_over_a_liner_it_stays():
    course = rain_fate(Rain(20, 1), 0, Reservoir(30, 0)).course

    assert (course[-1].at_h, course[-1].store_mm) == (25, 20)


@given(rains, st.floats(0, 5), stores)
def test_the_parts_add_up_and_the_course_keeps_time_and_bounds(rain, ratio, store):
    fate = rain_fate(rain, ratio, store)
    course = fate.course

    parts = (fate.ran_off_mm, fate.kept_for_reuse_mm, fate.soaked_mm, fate.overflowed_mm, fate.held_mm)
    assert sum(parts) == pytest.approx(fate.inflow_mm, abs=1e-6)
    assert all(part >= -1e-9 for part in parts)
    assert max(point.store_mm for point in course) == fate.highest_store_mm
    times = [point.at_h for point in course]
    assert all(later >= earlier - 1e-6 for earlier, later in pairwise(times))


def test_setbacks_are_said_in_the_readers_units():
    assert "6.56 ft to the building foundation" in setback_warnings("foundation", 2, UnitSystem.US)[0]
