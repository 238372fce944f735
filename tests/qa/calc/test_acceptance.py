import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.bounds import Bound
from core.calc.units import UnitSystem
from qa.calc.acceptance import Judgement, SpotsNotTaken, judge_acceptance
from qa.calc.limits import PRESETS, Agreed, governing_acceptance, limit_from_design_rain
from qa.calc.rounds import Summary

ASKED = governing_acceptance(agreed=Agreed(1000))


def judged(rate, bound=Bound.EXACT, spots=3, needed=3, asked=ASKED, **more):
    return judge_acceptance(Summary(rate, bound), asked, spots=spots, needed=needed, **more)


@pytest.mark.parametrize(
    ("rate", "bound", "judgement"),
    [
        (1000.0, "=", "passes"),
        (999.9, "=", "fails"),
        (1000.0, ">", "passes"),
        (999.0, ">", "cannot_tell"),
        (1000.0, "<", "fails"),
        (1001.0, "<", "cannot_tell"),
        (5000.0, "~", "cannot_tell"),
    ],
)
def test_a_mean_is_judged_with_what_it_bounds(rate, bound, judgement):
    assert judged(rate, Bound(bound)).judgement == judgement


def test_too_few_spots_cannot_tell_whatever_their_mean():
    verdict = judged(5000, spots=2)

    assert verdict.judgement is Judgement.CANNOT_TELL
    assert "2 of at least 3 spots tested" in verdict.reason


def test_nothing_asked_and_nothing_tested_are_told_apart():
    unknown = judge_acceptance(Summary(5000, Bound.EXACT), None, spots=3, needed=3)
    untested = judge_acceptance(None, ASKED, spots=0, needed=3)

    assert unknown.reason.startswith("No acceptance rate is known")
    assert untested.reason == "No test of this round counts yet."


def test_the_reason_speaks_the_readers_units_and_names_departures():
    asked = governing_acceptance(PRESETS["north_carolina"], system=UnitSystem.US)

    verdict = judged(2540, asked=asked, deviations=2, system=UnitSystem.US)

    assert verdict.reason == (
        "The mean of 100 in/h reaches the 50 in/h required for acceptance. Note 2 deviations from the method."
    )


def test_one_departure_is_told_as_one_and_none_as_none():
    assert judged(2540, deviations=1).reason.endswith("Note 1 deviation from the method.")
    assert judged(2540).reason.endswith("the 1000 mm/h required for acceptance.")


def test_a_mean_that_is_a_bound_is_told_with_its_sign():
    assert judged(5000, Bound.ABOVE).reason.startswith("The mean of > 5000 mm/h reaches the 1000 mm/h")
    assert judged(900, Bound.BELOW).reason.startswith("The mean of < 900 mm/h is below the 1000 mm/h")
    assert "their mean of ~ 5000 mm/h is not yet" in judged(5000, Bound.UNCLEAR, spots=2).reason


def test_the_design_rain_asks_for_more_when_new_by_the_clogging_share():
    rain = limit_from_design_rain(212.4, 1, 0.1)

    assert governing_acceptance(PRESETS["new_jersey"], rain).limit_mm_h == pytest.approx(4248)


def not_taken(left_out, *, by_weather=False, upper_bounds=None):
    return SpotsNotTaken(left_out, upper_bounds or {}, by_weather)


def test_too_few_valid_spots_cannot_tell_and_say_which_do_not_count_why_and_what_to_do():
    left_out = {"A": ["too little water for the prewet time"], "B": ["too little water for the prewet time"]}

    verdict = judged(5000, spots=1, not_taken=not_taken(left_out))

    assert verdict.judgement is Judgement.TOO_FEW_VALID
    assert verdict.reason == (
        "1 of at least 3 spots counts. Left out: A, B (too little water for the prewet time). "
        "Test 2 more spots by the method; a spot that was left out may be tested again."
    )


def test_a_round_that_the_weather_voids_is_to_be_made_anew():
    left_out = {"A": ["it rained less than 24 h before", "water stood on the surface"]}

    verdict = judge_acceptance(None, ASKED, spots=0, needed=3, not_taken=not_taken(left_out, by_weather=True))

    assert verdict.judgement is Judgement.TOO_FEW_VALID
    assert "Start a new round once 24 h have passed without rain" in verdict.reason
    assert "test 3 spots in it" in verdict.reason


def test_spots_left_out_and_bounds_are_named_beside_a_mean_that_can_be_judged():
    verdict = judged(
        900,
        Bound.BELOW,
        not_taken=not_taken(
            {"D": ["the surface was frozen"]}, upper_bounds={"B": ["water left past the seal"]}
        ),
    )

    assert verdict.judgement is Judgement.FAILS
    assert "Left out: D (the surface was frozen)." in verdict.reason
    assert "Upper bounds only: B (water left past the seal)." in verdict.reason


@given(st.floats(0.1, 1e5), st.floats(0.1, 1e5))
def test_a_higher_mean_is_never_judged_worse(one, other):
    order = [Judgement.FAILS, Judgement.CANNOT_TELL, Judgement.PASSES]
    low, high = sorted((one, other))

    for bound in Bound:
        ranks = [order.index(judged(rate, bound).judgement) for rate in (low, high)]
        assert ranks[0] <= ranks[1]
