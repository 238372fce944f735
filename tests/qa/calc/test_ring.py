from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.bounds import Bound
from core.calc.units import UnitSystem
from core.errors import UnusableRecordError
from qa.calc.ring import Ending, RingReading, evaluate_ring, required_test_mass, ring_rate, time_for_rate_s

SI = RingReading(
    system=UnitSystem.SI,
    prewet_mass=3.60,
    prewet_time_s=20.0,
    start_delay_s=60.0,
    test_mass=18.00,
    ring_diameter=300.0,
    elapsed_s=60.0,
)
US = replace(SI, system=UnitSystem.US, prewet_mass=8.0, test_mass=40.0, ring_diameter=12.0)
POSITIVE = st.floats(min_value=0.1, max_value=1e4)


def keys(reading):
    return [d.key for d in evaluate_ring(reading).deviations]


@pytest.mark.parametrize("reading", [SI, US])
def test_a_test_by_the_book_has_no_deviations(reading):
    assert keys(reading) == []


def test_a_test_in_us_units_gives_its_rate_in_both_units():
    result = evaluate_ring(US)

    assert (result.unit, result.rate) == ("in/h", pytest.approx(587.3611, rel=1e-6))
    assert result.rate_mm_h == pytest.approx(587.361 * 25.4, rel=1e-5)


@pytest.mark.parametrize(
    ("ending", "bound"),
    [(Ending.DRAINED, Bound.EXACT), (Ending.STILL_PONDED, Bound.BELOW), (Ending.TOO_FAST, Bound.ABOVE)],
)
def test_the_ending_decides_what_the_rate_bounds(ending, bound):
    assert evaluate_ring(replace(SI, ending=ending)).bound is bound


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"ring_diameter": 289.0}, "ring_diameter"),
        ({"ring_diameter": 311.0}, "ring_diameter"),
        ({"prewet_mass": 3.66}, "prewet_mass"),
        ({"prewet_time_s": None}, "prewet_missing"),
        ({"test_mass": 17.94}, "test_mass"),
        ({"test_mass": 18.06}, "test_mass"),
        ({"test_mass": 3.60}, "mass_for_prewet_time"),
        ({"prewet_time_s": 30.0}, "more_water_than_asked"),
        ({"prewet_mass": 1.79}, "prewet_too_little"),
        ({"start_delay_s": 121.0}, "start_delay"),
        ({"sequence": 3}, "too_many_tests"),
        ({"rewetted": False}, "not_prewetted"),
        ({"sequence": 2, "rewetted": False, "minutes_since_first": 5.1}, "repeat_gap"),
        ({"sequence": 2, "rewetted": False}, "repeat_gap"),
    ],
)
def test_each_departure_is_named_and_keeps_the_result(change, key):
    reading = replace(SI, **change)

    result = evaluate_ring(reading)

    assert [d.key for d in result.deviations] == [key]
    assert result.rate > 0


@pytest.mark.parametrize(
    "change",
    [
        {"ring_diameter": 290.0},
        {"ring_diameter": 310.0},
        {"test_mass": 17.95},
        {"test_mass": 18.05},
        {"prewet_mass": 3.55},
        {"prewet_mass": 3.65},
        {"start_delay_s": 120.0},
        {"start_delay_s": None},
        {"prewet_time_s": 29.9},
        {"prewet_time_s": 30.0, "test_mass": 3.60},
        {"sequence": 2},
        {"sequence": 2, "rewetted": False, "minutes_since_first": 5.0},
    ],
)
def test_the_limits_themselves_are_allowed(change):
    assert keys(replace(SI, **change)) == []


@pytest.mark.parametrize(
    "change",
    [
        {"test_mass": 39.90},
        {"test_mass": 40.10},
        {"ring_diameter": 11.5},
        {"ring_diameter": 12.5},
        {"prewet_time_s": 31.0, "test_mass": 7.90},
    ],
)
def test_the_limits_in_us_units_are_allowed(change):
    assert keys(replace(US, **change)) == []


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"ring_diameter": 11.49}, "ring_diameter"),
        ({"ring_diameter": 12.51}, "ring_diameter"),
        ({"prewet_mass": 7.89}, "prewet_mass"),
        ({"prewet_mass": 8.11}, "prewet_mass"),
        ({"test_mass": 39.89}, "test_mass"),
        ({"test_mass": 40.11}, "test_mass"),
        ({"prewet_time_s": 31.0, "test_mass": 7.89}, "test_mass"),
        ({"prewet_time_s": 31.0, "test_mass": 8.11}, "test_mass"),
    ],
)
def test_a_step_beyond_the_limits_in_us_units_is_named(change, key):
    assert keys(replace(US, **change)) == [key]


@pytest.mark.parametrize(
    ("test_mass", "prewet_time_s"), [(9.0, 45.0), (10.7, 45.0), (10.9, 20.0), (12.0, 20.0)]
)
def test_a_mass_that_is_neither_counts_as_the_nearer_one(test_mass, prewet_time_s):
    """So that a wrong mass is not told as the wrong choice of mass as well: half-way is 10.8 kg."""
    assert keys(replace(SI, test_mass=test_mass, prewet_time_s=prewet_time_s)) == ["test_mass"]


def test_the_masses_allowed_are_said_with_both_their_ends():
    (prewet,) = evaluate_ring(replace(SI, prewet_mass=3.7)).deviations
    (test,) = evaluate_ring(replace(US, test_mass=41.0)).deviations

    assert prewet.allowed == "3.55 to 3.65 kg"
    assert test.allowed == "7.90 to 8.10 lb or 39.90 to 40.10 lb"


def test_a_deviation_says_the_value_the_range_and_what_to_do():
    (deviation,) = evaluate_ring(replace(SI, start_delay_s=150.0)).deviations

    assert deviation.message.startswith(
        "The test started 150 s after prewetting ended; at most 120 s is allowed."
    )
    assert "Prewet again" in deviation.message


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"test_mass": 0.0}, "Mass of water must be more than 0 kg, got 0."),
        ({"ring_diameter": -300.0}, "Ring diameter must be more than 0 mm, got -300."),
        ({"elapsed_s": 0.0}, "Elapsed time must be more than 0 s, got 0."),
        ({"elapsed_s": float("nan")}, "Elapsed time must be more than 0 s, got nan."),
        ({"prewet_time_s": -1.0}, "Prewet time must be 0 s or more, got -1."),
        ({"start_delay_s": -0.1}, "Start delay must be 0 s or more, got -0.1."),
        ({"minutes_since_first": -5.0}, "Time since the first test must be 0 min or more, got -5."),
        ({"ring_diameter": 11.5}, "Ring diameter 11.5 mm looks like 11.5 in."),
        ({"ring_diameter": 12.5}, "Ring diameter 12.5 mm looks like 12.5 in."),
        ({"prewet_mass": 7.95}, "Prewet mass 7.95 kg looks like 7.95 lb."),
        ({"test_mass": 39.95}, "Test mass 39.95 kg looks like 39.95 lb."),
        ({"prewet_mass": 0.0}, "Prewet mass must be more than 0 kg, got 0."),
        ({"sequence": 0}, "The first test at a spot has number 1, got 0."),
        ({"ring_diameter": 12.0}, "Ring diameter 12 mm looks like 12 in."),
        ({"test_mass": 40.0}, "Test mass 40 kg looks like 40 lb."),
        ({"prewet_mass": 8.0}, "Prewet mass 8 kg looks like 8 lb."),
    ],
)
def test_impossible_or_mixed_readings_are_refused(change, message):
    with pytest.raises(UnusableRecordError) as refusal:
        evaluate_ring(replace(SI, **change))

    assert str(refusal.value).startswith(message)


@pytest.mark.parametrize("diameter", [290.0, 300.0, 310.0])
def test_a_metric_ring_in_a_us_test_is_refused(diameter):
    with pytest.raises(
        UnusableRecordError, match=f"Ring diameter {diameter:g} in looks like {diameter:g} mm"
    ):
        evaluate_ring(replace(US, ring_diameter=diameter))


@pytest.mark.parametrize("diameter", [11.4, 12.6, 289.0])
def test_an_odd_ring_of_the_own_system_is_a_departure_and_no_mix_up(diameter):
    assert keys(replace(SI, ring_diameter=diameter))[0] == "ring_diameter"


@given(mass=POSITIVE, diameter=POSITIVE, elapsed=POSITIVE, factor=st.floats(min_value=0.1, max_value=10))
def test_the_rate_scales_with_mass_and_against_time_and_diameter_squared(mass, diameter, elapsed, factor):
    base = ring_rate(mass, diameter, elapsed, UnitSystem.SI)

    assert ring_rate(mass * factor, diameter, elapsed, UnitSystem.SI) == pytest.approx(base * factor)
    assert ring_rate(mass, diameter, elapsed * factor, UnitSystem.SI) == pytest.approx(base / factor)
    assert ring_rate(mass, diameter * factor, elapsed, UnitSystem.SI) == pytest.approx(base / factor**2)


@given(mass=POSITIVE, diameter=POSITIVE, elapsed=POSITIVE)
def test_both_systems_agree_within_the_rounding_of_the_printed_constants(mass, diameter, elapsed):
    si = ring_rate(mass, diameter, elapsed, UnitSystem.SI)
    us = ring_rate(mass / 0.45359237, diameter / 25.4, elapsed, UnitSystem.US)

    assert us * 25.4 == pytest.approx(si, rel=5e-5)


@given(rate=POSITIVE, mass=POSITIVE)
def test_the_time_for_a_rate_gives_that_rate_back(rate, mass):
    elapsed = time_for_rate_s(rate, mass, 300.0, UnitSystem.SI)

    assert ring_rate(mass, 300.0, elapsed, UnitSystem.SI) == pytest.approx(rate)


def test_no_time_tells_a_rate_of_nothing_apart():
    with pytest.raises(UnusableRecordError, match="Rate must be more than 0 in/h, got 0"):
        time_for_rate_s(0.0, 8.0, 12.0, UnitSystem.US)


def test_the_large_mass_follows_a_prewetting_under_thirty_seconds():
    assert required_test_mass(29.99, UnitSystem.US) == 40.0
    assert required_test_mass(30.0, UnitSystem.US) == 8.0
    with pytest.raises(UnusableRecordError, match="Prewet time must be 0 s or more"):
        required_test_mass(-1.0, UnitSystem.SI)
