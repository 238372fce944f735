from math import log, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from core.calc.units import L_PER_GAL, M2_PER_FT2, UnitSystem
from core.errors import UnusableRecordError
from qa.calc.field_tests import FIELD_TESTS, Measures, evaluate_field_test
from qa.calc.methods import METHODS, Gives
from qa.calc.ring import Ending
from tests.factories import field_readings

SI, US = UnitSystem.SI, UnitSystem.US
LENGTHS = st.floats(10, 2000)
TIMES = st.floats(1, 5000)

FALLING = {
    "standpipe_diameter": 100.0,
    "contact_diameter": 150.0,
    "layer_thickness": 80.0,
    "runs": [{"head_start": 400.0, "head_end": 200.0, "elapsed_s": 33.0}],
}
SQUARE = {"inner_side": 1000.0, "drop": 20.0, "outer_level": True, "runs": [{"elapsed_s": 240.0}]}
FLOOD = {
    "section_area": None,
    "dam_tight": True,
    "runs": [{"level_start": 90.0, "level_end": 60.0, "elapsed_s": 720.0}] * 3,
}
FRAME = {"length": 600.0, "width": 600.0, "volume": 18.0, "elapsed_s": 180.0}
SPREAD = {"volume": 10.0, "wetted_area": 1.8, "reference": None}
OUTFLOW = {"outlet_only_s": 2.0, "frozen": False, "runs": [{"outflow_s": 12.0}]}
SOUND = {
    TestMethod.FALLING_HEAD: FALLING,
    TestMethod.SQUARE_DOUBLE_RING: SQUARE,
    TestMethod.FLOODING: FLOOD,
    TestMethod.FRAME: FRAME,
    TestMethod.SPREADING_AREA: SPREAD,
    TestMethod.OUTFLOW_METER: OUTFLOW,
}


def judged(method, readings, *more):
    return evaluate_field_test(method, field_readings(readings), *more)


def in_us(method, readings):
    """The same readings in inches, square feet and gallons."""
    per_us = {Measures.LENGTH: 25.4, Measures.AREA: M2_PER_FT2, Measures.VOLUME: L_PER_GAL}
    test = FIELD_TESTS[method]

    def turned(entries, values):
        return {
            e.key: values[e.key] / per_us[e.measures]
            if e.measures in per_us and values[e.key] is not None
            else values[e.key]
            for e in entries
        }

    runs = [turned(test.repeated, run) for run in readings.get("runs", ())]
    return turned(test.fixed, readings) | ({"runs": runs} if runs else {})


def test_every_method_but_the_ring_is_recorded_by_its_entries():
    assert set(FIELD_TESTS) == set(TestMethod) - {TestMethod.RING} == set(SOUND)


@pytest.mark.parametrize("method", SOUND)
def test_a_sound_test_has_no_departures(method):
    assert judged(method, SOUND[method], SI).deviations == ()


@pytest.mark.parametrize("method", SOUND)
def test_only_methods_that_give_a_rate_have_one(method):
    outcome = judged(method, SOUND[method], SI)

    assert (outcome.rate_mm_h is not None) == (METHODS[method].gives is Gives.RATE)
    assert (outcome.own_value is None) == (METHODS[method].gives is Gives.RATE)


@pytest.mark.parametrize("method", SOUND)
def test_the_same_test_in_us_units_gives_the_same_result(method):
    si = judged(method, SOUND[method], SI)

    us = judged(method, in_us(method, SOUND[method]), US)

    assert us.rate_mm_h == (None if si.rate_mm_h is None else pytest.approx(si.rate_mm_h, rel=1e-12))
    assert us.own_value == (None if si.own_value is None else pytest.approx(si.own_value, rel=1e-12))


def test_a_falling_head_gives_darcys_conductivity():
    """k = aL/(At)·ln(h1/h2), Darcy's law for a falling head; arithmetic from the formula."""
    expected = (pi / 4 * 100**2 * 80) / (pi / 4 * 150**2 * 33) * log(2) * 3600

    assert judged(TestMethod.FALLING_HEAD, FALLING, SI).rate_mm_h == pytest.approx(expected)


def test_twenty_millimetres_in_four_minutes_are_300_mm_h():
    assert judged(TestMethod.SQUARE_DOUBLE_RING, SQUARE, SI).rate_mm_h == pytest.approx(300)


def test_a_drop_marked_in_inches_counts_as_20_mm():
    readings = {"inner_side": 39.4, "drop": 0.79, "outer_level": True, "runs": [{"elapsed_s": 240.0}]}

    assert judged(TestMethod.SQUARE_DOUBLE_RING, readings, US).deviations == ()


def flooded(*times_s, **more):
    runs = [{"level_start": 90.0, "level_end": 60.0, "elapsed_s": t} for t in times_s]
    return judged(TestMethod.FLOODING, FLOOD | {"runs": runs} | more, SI)


@given(early=st.lists(TIMES, max_size=3), level=st.lists(st.floats(720, 900), min_size=3, max_size=3))
def test_floodings_before_the_rate_levels_off_change_nothing(early, level):
    """Three that agree are the saturated rate, whatever faster ones came before."""
    fast = [time / 10 for time in early if time / 10 < 576]

    assert flooded(*fast, *level) == flooded(*level)


@given(st.lists(TIMES, min_size=1, max_size=6))
def test_the_rate_of_a_flooding_is_a_mean_of_its_last_runs_and_exact_only_with_three(times_s):
    outcome = flooded(*times_s)

    rates = [30 / time * 3600 for time in times_s]
    means = [sum(rates[-n:]) / n for n in range(1, len(rates) + 1)]
    assert any(outcome.rate_mm_h == pytest.approx(mean) for mean in means)
    assert (outcome.bound is Bound.BELOW) == bool(outcome.deviations)
    if outcome.bound is Bound.EXACT:
        last = rates[-3:]
        assert len(last) == 3
        assert max(last) <= 1.25 * min(last) * (1 + 1e-9)


@given(length=LENGTHS, width=LENGTHS, time=TIMES, factor=st.floats(1.1, 10))
def test_a_frame_that_takes_longer_is_slower_in_the_same_measure(length, width, time, factor):
    base = {"length": length, "width": width, "volume": 18.0}

    fast = judged(TestMethod.FRAME, base | {"elapsed_s": time}, SI).rate_mm_h
    slow = judged(TestMethod.FRAME, base | {"elapsed_s": time * factor}, SI).rate_mm_h

    assert fast == pytest.approx(slow * factor)


@pytest.mark.parametrize("method", [TestMethod.FRAME, TestMethod.SQUARE_DOUBLE_RING])
def test_a_test_stopped_with_water_standing_gives_an_upper_bound(method):
    assert judged(method, SOUND[method], SI, Ending.STILL_PONDED).bound is Bound.BELOW


def test_a_method_without_an_early_stop_refuses_one():
    with pytest.raises(UnusableRecordError, match="A full-scale flooding has no early stop"):
        judged(TestMethod.FLOODING, FLOOD, SI, Ending.STILL_PONDED)


@pytest.mark.parametrize(
    ("method", "change", "key"),
    [
        (TestMethod.SQUARE_DOUBLE_RING, {"drop": 25.0}, "square_ring_drop"),
        (TestMethod.SQUARE_DOUBLE_RING, {"inner_side": 500.0}, "inner_frame_side"),
        (TestMethod.SQUARE_DOUBLE_RING, {"outer_level": False}, "outer_level"),
        (TestMethod.FLOODING, {"runs": FLOOD["runs"][:2]}, "too_few_floodings"),
        (TestMethod.FLOODING, {"dam_tight": False}, "dam_leaked"),
        (TestMethod.FRAME, {"elapsed_s": 5.0}, "above_frame_range"),
        (TestMethod.OUTFLOW_METER, {"frozen": True}, "frozen"),
        (
            TestMethod.FALLING_HEAD,
            {"runs": [*FALLING["runs"], {"head_start": 400.0, "head_end": 200.0, "elapsed_s": 60.0}]},
            "falls_differ",
        ),
    ],
)
def test_each_departure_is_named_and_keeps_the_result(method, change, key):
    outcome = judged(method, SOUND[method] | change, SI)

    assert [found.key for found in outcome.deviations] == [key]


def fall(elapsed_s):
    return {"head_start": 400.0, "head_end": 200.0, "elapsed_s": elapsed_s}


@pytest.mark.parametrize(
    ("method", "change", "marked"),
    [
        (TestMethod.SQUARE_DOUBLE_RING, {"inner_side": 990.0}, False),
        (TestMethod.SQUARE_DOUBLE_RING, {"inner_side": 1010.0}, False),
        (TestMethod.SQUARE_DOUBLE_RING, {"inner_side": 989.9}, True),
        (TestMethod.SQUARE_DOUBLE_RING, {"inner_side": 1010.1}, True),
        (TestMethod.FALLING_HEAD, {"runs": [fall(100.0), fall(132.9)]}, False),
        (TestMethod.FALLING_HEAD, {"runs": [fall(100.0), fall(133.1)]}, True),
        (TestMethod.FALLING_HEAD, {"runs": [fall(133.1), fall(100.0)]}, True),
        (TestMethod.FRAME, {"volume": 15.0, "length": 500.0, "width": 500.0, "elapsed_s": 14.4}, False),
        (TestMethod.FRAME, {"volume": 15.0, "length": 500.0, "width": 500.0, "elapsed_s": 14.3}, True),
    ],
)
def test_the_bounds_of_a_method_are_allowed_and_a_step_beyond_is_named(method, change, marked):
    """A frame of 1 m to a centimetre, falls within a third, the frame as a ring up to 15 000 mm/h (Winston 2016)."""
    assert bool(judged(method, SOUND[method] | change, SI).deviations) == marked


def test_falls_at_one_spot_are_averaged_by_their_rates():
    once = judged(TestMethod.FALLING_HEAD, FALLING | {"runs": [fall(30.0)]}, SI).rate_mm_h
    slower = judged(TestMethod.FALLING_HEAD, FALLING | {"runs": [fall(60.0)]}, SI).rate_mm_h

    both = judged(TestMethod.FALLING_HEAD, FALLING | {"runs": [fall(30.0), fall(60.0)]}, SI)

    assert both.rate_mm_h == pytest.approx((once + slower) / 2)
    assert both.deviations[0].message.startswith("The falls differ by a factor of 2.00; within 1.33")


def test_which_methods_may_be_stopped_early_and_which_have_a_seal():
    assert {m for m, test in FIELD_TESTS.items() if test.can_be_stopped} == {
        TestMethod.SQUARE_DOUBLE_RING,
        TestMethod.FRAME,
    }
    assert {m for m, test in FIELD_TESTS.items() if test.sealed} == {
        TestMethod.FALLING_HEAD,
        TestMethod.SQUARE_DOUBLE_RING,
        TestMethod.FRAME,
        TestMethod.OUTFLOW_METER,
    }


def test_rows_for_the_repeats_that_each_method_asks_are_offered():
    """Three floodings are averaged, so more than three are offered; a frame and a bucket are poured once."""
    offered = {method: test.runs_offered for method, test in FIELD_TESTS.items()}

    assert offered == {
        TestMethod.FALLING_HEAD: 3,
        TestMethod.SQUARE_DOUBLE_RING: 3,
        TestMethod.FLOODING: 6,
        TestMethod.FRAME: 0,
        TestMethod.SPREADING_AREA: 0,
        TestMethod.OUTFLOW_METER: 3,
    }


def test_the_form_starts_with_the_sizes_that_the_method_itself_sets():
    usual = {
        entry.key: entry.usual for entry in FIELD_TESTS[TestMethod.SQUARE_DOUBLE_RING].fixed if entry.usual
    }

    assert usual == {"inner_side": {SI: 1000.0, US: 39.4}, "drop": {SI: 20.0, US: 0.79}}
    assert not [
        e
        for m, t in FIELD_TESTS.items()
        if m is not TestMethod.SQUARE_DOUBLE_RING
        for e in t.fixed
        if e.usual
    ]


def test_each_entry_stands_in_the_unit_of_its_measure():
    units = {
        entry.measures: (entry.unit(SI), entry.unit(US))
        for test in FIELD_TESTS.values()
        for entry in (*test.fixed, *test.repeated)
    }

    assert units == {
        Measures.LENGTH: ("mm", "in"),
        Measures.AREA: ("m²", "ft²"),
        Measures.VOLUME: ("L", "gal"),
        Measures.TIME: ("s", "s"),
        Measures.YES: ("", ""),
        Measures.LOOKED_UP: ("", ""),
    }


def test_only_what_need_not_be_known_may_be_left_out():
    optional = {
        e.key for test in FIELD_TESTS.values() for e in (*test.fixed, *test.repeated) if not e.required
    }

    assert optional == {"section_area", "reference"}
    assert judged(TestMethod.FLOODING, FLOOD | {"section_area": 40.0}, SI).rate_mm_h == pytest.approx(150)


def test_outflow_times_are_averaged_as_conductivities():
    outcome = judged(
        TestMethod.OUTFLOW_METER, OUTFLOW | {"runs": [{"outflow_s": 12.0}, {"outflow_s": 7.0}]}, SI
    )

    assert (outcome.own_value, outcome.own_unit) == (pytest.approx((1 / 10 + 1 / 5) / 2), "1/s")


@pytest.mark.parametrize(
    ("method", "change", "message"),
    [
        (
            TestMethod.SQUARE_DOUBLE_RING,
            {"inner_side": 0.0},
            "Inner frame, inside width must be more than 0 mm",
        ),
        (
            TestMethod.FALLING_HEAD,
            {"contact_diameter": 0.0},
            "Diameter of the sealed base must be more than 0",
        ),
        (TestMethod.FALLING_HEAD, {"runs": [fall(33.0), fall(None)]}, "Fall 2: Time of the fall is missing"),
        (TestMethod.FALLING_HEAD, {"standpipe_diameter": -1.0}, "Standpipe diameter must be more than 0 mm"),
        (TestMethod.FALLING_HEAD, {"runs": []}, "Fall 1 is missing"),
        (
            TestMethod.FLOODING,
            {"runs": [{"level_start": 60.0, "level_end": 90.0, "elapsed_s": 9.0}]},
            "Drop of",
        ),
        (TestMethod.FRAME, {"volume": None}, "Water poured is missing"),
        (TestMethod.OUTFLOW_METER, {"runs": [{"outflow_s": 1.0}]}, "must exceed the device's own"),
    ],
)
def test_impossible_readings_are_refused_in_words(method, change, message):
    with pytest.raises(UnusableRecordError, match=message):
        judged(method, SOUND[method] | change, SI)


def test_a_spread_is_compared_with_the_first_one_at_its_spot():
    outcome = judged(TestMethod.SPREADING_AREA, SPREAD | {"reference": 0.1}, SI)

    assert outcome.own_value == pytest.approx(0.18)
    assert outcome.said == "The water spread 1.8 times as far as before. Test this spot with the ring."
