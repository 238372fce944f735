"""What a reading is worth once its deviations are known."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from qa.calc import field_tests, methods, ring
from qa.calc.acceptance import Judgement, judge_acceptance
from qa.calc.counts import count_deviation, spacing_deviations
from qa.calc.deviations import voiding
from qa.calc.effects import CONSEQUENCES, Effect
from qa.calc.limits import Agreed, governing_acceptance
from qa.calc.ring import Ending, RingReading, evaluate_ring, ring_rate
from qa.calc.rounds import Rate, round_statistics
from qa.calc.sources import SourceStatus
from qa.calc.validity import RoundConditions, concluded, fastest_mm_h, weather_deviations
from tests.factories import field_readings
from tests.qa.calc.test_field_tests import FALLING, FLOOD, FRAME, OUTFLOW, SQUARE, judged

SI, US = UnitSystem.SI, UnitSystem.US
SOUND = RingReading(SI, 3.6, 20.0, 60.0, 18.0, 300.0, 60.0)
RATES = st.floats(1.0, 1e5)


def effects(reading):
    return {found.effect for found in evaluate_ring(reading).deviations}


@pytest.mark.parametrize(
    ("change", "effect"),
    [
        # From memory of ASTM C1701/C1701M and C1781/C1781M: mass by prewet time, two tests a spot and day.
        ({"test_mass": 3.6}, Effect.VOIDS),
        ({"sequence": 3}, Effect.VOIDS),
        # Looked up: start within two minutes. That a drier surface takes water faster is common practice.
        ({"start_delay_s": 600.0}, Effect.BOUNDS),
        ({"prewet_time_s": None}, Effect.BOUNDS),
        ({"rewetted": False}, Effect.BOUNDS),
        ({"sequence": 2, "rewetted": False, "minutes_since_first": 9.0}, Effect.BOUNDS),
        ({"prewet_mass": 1.0}, Effect.BOUNDS),
        # Common practice: water past the seal never went through the tested area.
        ({"leak_seen": True}, Effect.BOUNDS),
        # Common practice: the rate is computed from what was measured.
        ({"ring_diameter": 289.0}, Effect.NOTE),
        ({"prewet_mass": 3.7}, Effect.NOTE),
        ({"test_mass": 17.5}, Effect.NOTE),
        ({"prewet_time_s": 45.0}, Effect.NOTE),
        # Our judgement: faster than open gravel drains.
        ({"elapsed_s": 0.2}, Effect.VOIDS),
    ],
)
def test_what_a_departure_does_to_a_ring_test(change, effect):
    assert effects(replace(SOUND, **change)) == {effect}


@pytest.mark.parametrize(
    ("method", "readings", "effect"),
    [
        # Common practice: water that leaves sideways makes the rate read too high.
        (TestMethod.SQUARE_DOUBLE_RING, SQUARE | {"outer_level": False}, Effect.BOUNDS),
        (TestMethod.FLOODING, FLOOD | {"dam_tight": False}, Effect.BOUNDS),
        # Boogaard et al. 2014 and Boogaard & Lucke 2019 (looked up): three runs, saturated.
        (TestMethod.FLOODING, FLOOD | {"runs": FLOOD["runs"][:2]}, Effect.BOUNDS),
        # EN 12697-40:2020 (looked up): not on a frozen surface.
        (TestMethod.OUTFLOW_METER, OUTFLOW | {"frozen": True}, Effect.VOIDS),
        (TestMethod.FRAME, FRAME | {"elapsed_s": 5.0}, Effect.NOTE),
        (TestMethod.FRAME, FRAME | {"elapsed_s": 0.5}, Effect.VOIDS),
    ],
)
def test_what_a_departure_does_to_a_test_by_another_method(method, readings, effect):
    found = judged(method, readings, SI).deviations

    assert effect in {each.effect for each in found}
    assert {each.effect for each in found} <= {effect, Effect.NOTE}


@pytest.mark.parametrize(
    ("method", "rain", "water"),
    [
        (TestMethod.RING, "voids", "voids"),
        (TestMethod.FRAME, "voids", "voids"),
        (TestMethod.SPREADING_AREA, "voids", "voids"),
        (TestMethod.FALLING_HEAD, "note", "voids"),
        (TestMethod.SQUARE_DOUBLE_RING, "note", "voids"),
        (TestMethod.FLOODING, "note", "note"),
        (TestMethod.OUTFLOW_METER, "note", "note"),
    ],
)
def test_weather_does_to_each_method_what_the_method_asks_of_it(method, rain, water):
    """24 h without rain and no standing water: ring test (from memory); a wet surface: EN 12697-40 (looked up)."""
    found = weather_deviations(RoundConditions(2.0, True), method)

    assert [each.effect for each in found] == [rain, water]
    assert weather_deviations(RoundConditions(24.0, False), method) == ()


def test_a_leak_makes_the_rate_an_upper_bound_whatever_the_method():
    assert evaluate_ring(replace(SOUND, leak_seen=True)).bound is Bound.BELOW
    for method, readings in ((TestMethod.FALLING_HEAD, FALLING), (TestMethod.FRAME, FRAME)):
        assert judged_with_leak(method, readings).bound is Bound.BELOW


def judged_with_leak(method, readings):
    return field_tests.evaluate_field_test(method, field_readings(readings), SI, leak_seen=True)


def test_too_fast_to_hold_the_head_and_a_leak_besides_say_nothing():
    result = evaluate_ring(replace(SOUND, leak_seen=True, ending=Ending.TOO_FAST))

    assert result.bound is Bound.UNCLEAR
    assert [each.key for each in voiding(result.deviations)] == ["bounded_both_ways"]


def test_a_repeat_with_the_wrong_mass_of_its_first_test_is_void_too():
    """A repeat is not prewetted, so its mass was never held against a prewet time."""
    repeat = replace(SOUND, prewet_mass=None, prewet_time_s=None, rewetted=False, sequence=2, test_mass=3.6,
                     minutes_since_first=2.0)  # fmt: skip

    assert effects(repeat) == set()
    assert effects(replace(repeat, first_prewet_time_s=20.0)) == {Effect.VOIDS}


@pytest.mark.parametrize("method", TestMethod)
def test_a_rate_is_void_only_above_what_open_gravel_drains(method):
    most = fastest_mm_h(method)

    assert concluded(Bound.EXACT, (), most, method, SI) == (Bound.EXACT, ())
    _, (found,) = concluded(Bound.EXACT, (), most * 1.001, method, US)
    assert (found.key, found.effect) == ("faster_than_gravel", Effect.VOIDS)
    assert " in/h is faster than open gravel drains" in found.message


def test_every_departure_that_can_be_found_has_a_class_and_a_source():
    keys = {
        *(found.key for found in weather_deviations(RoundConditions(1, True), TestMethod.RING)),
        *(found.key for found in weather_deviations(RoundConditions(1, True), TestMethod.FLOODING)),
        *(found.key for found in spacing_deviations({"A": (0, 0), "B": (0.1, 0)}, SI)),
        count_deviation(1, 900, SI).key,
        ring.leak_deviation().key,
    }

    assert keys <= set(CONSEQUENCES)
    assert all(each.source.citation and each.in_short for each in CONSEQUENCES.values())
    assert {each.source.status for each in CONSEQUENCES.values()} >= {
        SourceStatus.LOOKED_UP,
        SourceStatus.FROM_MEMORY,
        SourceStatus.COMMON_PRACTICE,
    }


ASKED = governing_acceptance(agreed=Agreed(1000))


def verdict_of(spots):
    return judge_acceptance(round_statistics(spots).mean, ASKED, spots=len(spots), needed=3).judgement


@given(st.lists(RATES, min_size=3, max_size=6), st.integers(0, 5), RATES)
def test_a_bound_never_turns_a_failing_round_into_a_passing_one(rates, at, other):
    """Neither a spot that becomes an upper bound, nor one more spot that is one."""
    exact = [Rate(rate) for rate in rates]
    bounded = [
        replace(rate, bound=Bound.BELOW) if n == at % len(exact) else rate for n, rate in enumerate(exact)
    ]

    assert verdict_of(bounded) is not Judgement.PASSES
    assert verdict_of([*exact, Rate(other, Bound.BELOW)]) is not Judgement.PASSES


@given(time=st.floats(0.1, 5000), leak=st.booleans(), delay=st.floats(0, 900), prewet=st.floats(1, 90))
def test_a_departure_never_raises_the_rate_or_frees_it_of_a_bound(time, leak, delay, prewet):
    reading = replace(SOUND, elapsed_s=time, leak_seen=leak, start_delay_s=delay, prewet_time_s=prewet)

    result = evaluate_ring(reading)

    assert result.rate == ring_rate(18.0, 300.0, time, SI)
    assert (result.bound is Bound.BELOW) == (leak or delay > 120)


@given(st.lists(st.floats(1.0, 5000.0), min_size=1, max_size=8))
def test_the_floodings_that_count_are_the_last_and_agree(rates):
    level = methods.levelled_off(rates)

    counted = rates[-level:]
    assert 1 <= level <= len(rates)
    assert max(counted) <= 1.25 * min(counted) * (1 + 1e-9)
    if level < len(rates):
        more = rates[-level - 1 :]
        assert max(more) > 1.25 * min(more)


@pytest.mark.parametrize("method", TestMethod)
def test_a_falling_head_may_read_ten_times_as_fast_as_any_other_method(method):
    """Our judgement: 200 000 mm/h; Li, Kayhanian & Harvey 2013: the ring reads 50 to 90 % less (looked up)."""
    assert fastest_mm_h(method) == (2_000_000.0 if method is TestMethod.FALLING_HEAD else 200_000.0)
