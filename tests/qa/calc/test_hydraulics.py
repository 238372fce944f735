from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnusableRecordError
from qa.calc import hydraulics as h
from qa.calc.rain import Reservoir, drain_time_warnings, rain_fate, run_on_warnings, setback_warnings

STONE = (h.StorageLayer("base", 100, 0.40), h.StorageLayer("subbase", 300, 0.30))
POSITIVE = st.floats(min_value=0.5, max_value=500)
POROSITY = st.floats(min_value=0.25, max_value=0.48)


def test_storage_is_given_layer_by_layer_and_in_all():
    assert [layer.holds_mm for layer in h.storage_by_layer(STONE)] == pytest.approx([40, 90])
    assert h.storage_mm(STONE) == pytest.approx(130)


def test_a_layer_may_have_an_area_of_its_own():
    layers = (h.StorageLayer("base", 100, 0.40, area_m2=50), h.StorageLayer("subbase", 300, 0.30))

    assert h.storage_volume_m3(layers, 100) == pytest.approx(50 * 0.04 + 100 * 0.09)


@given(height=st.floats(min_value=0, max_value=1000))
def test_water_below_the_overflow_never_exceeds_the_whole_store(height):
    below = h.storage_below_mm(STONE, height)

    assert 0 <= below <= h.storage_mm(STONE) + 1e-9
    assert h.storage_below_mm(STONE, 350) == pytest.approx(300 * 0.30 + 50 * 0.40)


@given(
    storm=st.floats(1, 24),
    i=st.floats(5, 100),
    f=st.floats(0, 4.9),
    area=POSITIVE,
    depth=POSITIVE,
    n=POROSITY,
)
def test_footprint_and_depth_agree_with_each_other(storm, i, f, area, depth, n):
    """The footprint's own run-on ratio, put into the depth formula, gives the depth back."""
    footprint = h.footprint_m2(storm, i, area, depth, f, n)
    ratio = (area - footprint) / footprint

    if ratio >= 0:
        assert h.depth_for_storm_mm(storm, i, ratio, f, n) == pytest.approx(depth, rel=1e-9)


@given(depth=POSITIVE, n=POROSITY, f=POSITIVE)
def test_the_deepest_stone_that_drains_in_a_time_drains_in_that_time(depth, n, f):
    assert h.deepest_that_drains_mm(f, h.drain_time_h(depth, n, f), n) == pytest.approx(depth)


@given(depth=POSITIVE, slope=st.floats(0, 0.1), length=st.floats(1, 100))
def test_a_slope_only_takes_storage_away(depth, slope, length):
    factor = h.slope_factor(depth, slope, length)

    assert 0 < factor <= 1
    assert h.slope_factor(depth, slope / 2, length) >= factor


def test_both_branches_of_the_slope_factor_meet():
    assert h.slope_factor(1000, 0.01, 100) == pytest.approx(0.5)
    assert h.slope_factor(1000, 0.010001, 100) == pytest.approx(0.5, rel=1e-3)


@given(n=st.floats(0.05, 0.59))
def test_porosity_and_void_ratio_convert_back(n):
    assert h.porosity_of_void_ratio(h.void_ratio(n)) == pytest.approx(n)


def test_stone_on_soil_that_takes_nothing_never_drains():
    assert h.drain_time_h(300, 0.4, 0) == inf
    assert h.drain_time_h(0, 0.4, 0) == 0


def test_an_unusual_porosity_is_warned_of_and_a_void_ratio_refused():
    assert h.aggregate_porosity_warning(0.40) == ""
    assert "outside the usual 0.3 to 0.42" in h.aggregate_porosity_warning(0.45)
    with pytest.raises(UnusableRecordError, match=r"A porosity of 0\.667 is outside 0\.25 to 0\.48"):
        h.aggregate_porosity_warning(0.667)


@given(
    rain=st.floats(0, 200),
    hours=st.floats(0.1, 48),
    ratio=st.floats(0, 5),
    below=st.floats(0, 300),
    soil=st.floats(0, 100),
    reuse=st.floats(0, 100),
    surface=st.one_of(st.none(), st.floats(0, 5000)),
)
def test_the_water_of_a_rain_is_neither_lost_nor_made(rain, hours, ratio, below, soil, reuse, surface):
    fate = rain_fate(rain, hours, ratio, Reservoir(below, soil, reuse, surface))

    parts = (fate.ran_off_mm, fate.kept_for_reuse_mm, fate.soaked_mm, fate.overflowed_mm, fate.held_mm)
    assert all(part >= -1e-9 for part in parts)
    assert sum(parts) == pytest.approx(fate.inflow_mm, abs=1e-6)
    assert fate.highest_store_mm <= below


def test_a_rain_fills_the_reuse_store_then_soaks_then_overflows():
    """60 mm in 3 h on equal run-on: 40 mm/h in; 20 mm kept in 0.5 h; then 10 mm/h soak and 75 mm rise."""
    fate = rain_fate(60, 3, 1, Reservoir(below_overflow_mm=50, soil_rate_mm_h=10, reuse_mm=20))

    assert fate.kept_for_reuse_mm == pytest.approx(20)
    assert fate.overflowed_mm == pytest.approx(25)
    assert fate.soaked_mm == pytest.approx(25 + 50)
    assert fate.drain_h == pytest.approx(5)


def test_a_clogged_surface_sheds_what_it_cannot_take():
    fate = rain_fate(50, 1, 0, Reservoir(200, 5, surface_rate_mm_h=20))

    assert fate.ran_off_mm == pytest.approx(30)


def test_water_on_a_liner_is_held():
    fate = rain_fate(30, 2, 0, Reservoir(100, 0))

    assert fate.held_mm == pytest.approx(30)
    assert fate.drain_h == inf


def test_drain_times_are_held_against_each_rule_with_its_source():
    assert drain_time_warnings(48) == ()
    assert len(drain_time_warnings(72)) == 1
    assert len(drain_time_warnings(97)) == 5
    assert "at least 24 h (water quality" in drain_time_warnings(10)[0]
    assert drain_time_warnings(inf)[0].startswith("The stone never drains; at most 72 h (New Jersey")


def test_run_on_and_setbacks_are_held_against_each_rule():
    assert run_on_warnings(1.0) == ()
    assert [w.split("(")[1].split(":")[0] for w in run_on_warnings(2.5)] == ["North Carolina", "Ontario"]
    assert setback_warnings("foundation", 6) == ()
    assert len(setback_warnings("foundation", 3.02)) == 3
    assert setback_warnings("private well", 10)[0].startswith(
        "10 m to the private well; Minnesota asks at least 15.2 m"
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: h.storage_mm([h.StorageLayer("base", 100, 0.667)]),
            "Porosity of base 0.667 is outside 0 to 0.6",
        ),
        (lambda: h.storage_mm([h.StorageLayer("base", 0, 0.4)]), "Thickness of base must be more than 0 mm"),
        (lambda: h.storage_volume_m3(STONE, 0), "Area must be more than 0 m²"),
        (lambda: h.depth_for_rain_mm(-1, 1, 50, 10, 2, 0.4), "Runoff depth must be 0 mm or more"),
        (lambda: h.depth_for_rain_mm(0, 0, 50, 2000, 2, 0.4), "faster than clean gravel"),
        (lambda: h.footprint_m2(4, 15, 0, 400, 5, 0.4), "Catchment must be more than 0 m²"),
        (lambda: h.slope_factor(300, 1, 100), "A slope of 1 is steeper than 1 in 2"),
        (lambda: rain_fate(10, 0, 0, Reservoir(1, 1)), "Duration must be more than 0 h"),
        (lambda: rain_fate(10, 1, 0, Reservoir(-1, 1)), "Storage below the overflow must be 0 mm or more"),
    ],
)
def test_impossible_input_is_refused(call, message):
    with pytest.raises(UnusableRecordError, match=message):
        call()
