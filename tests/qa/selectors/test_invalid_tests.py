"""A test that says nothing enters nothing, and every place says so."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase as DjangoTestCase

from core.calc.bounds import Bound
from core.calc.units import UnitSystem
from maintenance.selectors.histories import histories_of
from maintenance.selectors.records import record_of
from qa.calc.acceptance import Judgement
from qa.models import ConstructionRecord, InfiltrationTest
from qa.selectors.construction import record_state
from qa.selectors.rounds import last_ring_rates, latest_mean, round_result
from qa.services import assembly, rounds
from tests.factories import (
    InfiltrationTestFactory,
    LocationFactory,
    RoundFactory,
    SurfaceFactory,
)

# 8 lb where the prewet time asks for 40 lb, started 600 s after prewetting, past a leaking seal.
WRONG = {
    "unit_system": UnitSystem.US,
    "prewet_mass": 8.0,
    "prewet_time_s": 12.0,
    "start_delay_s": 600.0,
    "test_mass": 8.0,
    "ring_diameter": 12.0,
    "elapsed_s": 10.0,
    "leak_seen": True,
}
VOID = {"prewet_time_s": 12.0}  # 3.6 kg where 18 kg are asked


@pytest.fixture
def surface(firm):
    firm.surface.acceptance_rate_mm_h = 1000.0
    firm.surface.save()
    return firm.surface


def acceptance(surface, *tests, **weather):
    round_ = RoundFactory(surface=surface, purpose="acceptance", **weather)
    for at, readings in enumerate(tests):
        InfiltrationTestFactory(round=round_, spot=f"spot {'ABCDEFG'[at]}", **readings)
    return round_


def judged(round_):
    return round_result(round_, "si").acceptance


def test_three_spots_all_wrong_on_a_wet_day_do_not_pass(surface):
    """They passed once, to be "read with the deviations". Rules on mass, delay, rain: ASTM C1701 and C1781."""
    round_ = acceptance(surface, WRONG, WRONG, WRONG, hours_since_rain=2.0, standing_water=True)

    result = round_result(round_, "us")

    assert result.acceptance.judgement is Judgement.TOO_FEW_VALID
    assert result.acceptance.reason == (
        "0 of at least 3 spots count. Left out: spot A, spot B, spot C (too little water for the prewet time; "
        "it rained less than 24 h before; water stood on the surface). Start a new round once 24 h have passed without "
        "rain and no water stands on the surface, and test 3 spots in it."
    )
    assert (result.statistics, result.tests, len(result.invalid)) == (None, [], 3)


@pytest.mark.parametrize(
    ("readings", "weather", "judgement"),
    [
        ({}, {}, Judgement.PASSES),
        (VOID, {}, Judgement.TOO_FEW_VALID),
        ({"elapsed_s": 0.5}, {}, Judgement.TOO_FEW_VALID),
        ({}, {"hours_since_rain": 2.0}, Judgement.TOO_FEW_VALID),
        ({}, {"standing_water": True}, Judgement.TOO_FEW_VALID),
        ({"start_delay_s": 600.0}, {}, Judgement.CANNOT_TELL),
        ({"leak_seen": True}, {}, Judgement.CANNOT_TELL),
        ({"prewet_time_s": None}, {}, Judgement.CANNOT_TELL),
        ({"leak_seen": True, "elapsed_s": 900.0}, {}, Judgement.FAILS),
        ({"ring_diameter": 289.0}, {}, Judgement.PASSES),
    ],
)
def test_each_thing_that_is_wrong_has_its_own_weight(surface, readings, weather, judgement):
    assert judged(acceptance(surface, readings, readings, readings, **weather)).judgement is judgement


def test_one_void_spot_of_four_is_named_and_the_other_three_decide(surface):
    verdict = judged(acceptance(surface, {}, {}, {}, VOID))

    assert verdict.judgement is Judgement.PASSES
    assert "Left out: spot D (too little water for the prewet time)." in verdict.reason


def test_a_void_test_leaves_the_mean_the_history_and_the_record_but_not_the_list(surface):
    location = LocationFactory(surface=surface)
    round_ = acceptance(surface, {}, VOID | {"elapsed_s": 400.0})
    InfiltrationTestFactory(round=round_, location=location, spot="", **VOID)

    (recorded,) = histories_of([surface])
    (item,) = record_of(surface, None)

    assert latest_mean(surface).mean.rate_mm_h == pytest.approx(1222.3, rel=1e-4)
    assert [len(event.tests) for event in recorded.history.events] == [1]
    assert last_ring_rates([location]) == {}
    assert (item.spots, item.left_out) == (1, 2)
    assert location in round_result(round_, "si").to_do


def test_an_upper_bound_reaches_the_model_as_one(surface):
    acceptance(surface, {"leak_seen": True})

    (recorded,) = histories_of([surface])

    (event,) = recorded.history.events
    assert [test.bound for test in event.tests] == [Bound.BELOW.value]


def test_hold_points_stay_open_on_a_round_that_cannot_tell_and_an_earlier_one_stands(surface, firm):
    record = ConstructionRecord(surface=surface)
    assembly.open_record(record=record, parts=[], by=firm.coordinator)

    acceptance(surface, VOID, VOID, VOID)
    assert standing(record) == {"acceptance_spots": "partly", "acceptance_rate": "partly"}

    acceptance(surface, {}, {}, {}, tested_on=date(2024, 6, 10))
    assert standing(record) == {"acceptance_spots": "passed", "acceptance_rate": "passed"}

    acceptance(surface, WRONG, WRONG, WRONG, tested_on=date(2024, 6, 20), hours_since_rain=1.0)
    assert standing(record) == {"acceptance_spots": "passed", "acceptance_rate": "passed"}


def standing(record):
    return {one.row.key: str(one.status) for one in record_state(record).checks if one.automatic}


def test_a_round_whose_rain_is_corrected_counts_or_not_by_what_it_says_now(surface):
    round_ = acceptance(surface, {}, {}, {}, hours_since_rain=2.0)
    assert judged(round_).judgement is Judgement.TOO_FEW_VALID

    round_.hours_since_rain = 40.0
    rounds.amend_round(round_=round_, reason="The gauge was read wrong.")

    assert judged(round_).judgement is Judgement.PASSES
    assert latest_mean(surface) is not None


def test_a_repeat_is_held_against_the_prewet_time_of_the_first_test_also_once_that_is_corrected(
    surface, firm
):
    round_ = acceptance(surface)
    first = InfiltrationTestFactory(round=round_, spot="gate")
    repeat = InfiltrationTest(
        round=round_, spot="gate", rewetted=False, minutes_since_first=2.0,
        test_mass=3.6, ring_diameter=300.0, elapsed_s=150.0,
    )  # fmt: skip
    assert rounds.record_test(test=repeat, by=firm.technician).is_valid

    corrected = InfiltrationTest(
        round=round_, spot="gate", prewet_mass=3.6, prewet_time_s=12.0, test_mass=18.0,
        ring_diameter=300.0, elapsed_s=150.0,
    )  # fmt: skip
    rounds.correct_test(old=first, new=corrected, by=firm.technician, reason="Misread.")

    repeat.refresh_from_db()
    assert [found.key for found in repeat.voided_by] == ["mass_for_prewet_time"]
    assert not repeat.is_valid


class AddingAVoidTest(DjangoTestCase):
    """Whatever is read in it, it changes nothing that the round says."""

    @given(
        elapsed_s=st.floats(12.0, 5000.0),
        times=st.lists(st.floats(20.0, 2000.0), min_size=1, max_size=4),
        at_a_tested_spot=st.booleans(),
    )
    @settings(max_examples=15, deadline=None)
    def test_never_changes_the_result_of_a_round(self, elapsed_s, times, at_a_tested_spot):
        surface = SurfaceFactory(acceptance_rate_mm_h=1000.0)
        round_ = acceptance(surface, *({"elapsed_s": time} for time in times))
        before = round_result(round_, "si")

        spot = "spot A" if at_a_tested_spot else "spot Z"
        InfiltrationTestFactory(round=round_, spot=spot, elapsed_s=elapsed_s, **VOID)
        after = round_result(round_, "si")

        assert after.statistics == before.statistics
        assert after.against_limit == before.against_limit
        assert after.spots == before.spots
        passed = Judgement.PASSES
        assert (after.acceptance.judgement is passed) == (before.acceptance.judgement is passed)
