"""Scores: proper, invariant, and equal to slow plain ways of working them out."""

from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clogging import priors
from clogging.scores import (
    brier,
    calibration,
    coverage,
    crps,
    distance_from_uniform,
    fixed_interval,
    fleet_mean,
    last_value,
    log_score,
    naive_forecast,
    past_rounds,
    pit,
    straight_line,
    uniform_band,
)
from clogging.types import CleaningEvent, Conditions, RoundEvent, SpotTest, SurfaceHistory

from .worlds import ring

MEANS = st.floats(-5.0, 12.0)
WIDTHS = st.floats(0.05, 3.0)
PARTS = st.lists(st.tuples(MEANS, WIDTHS), min_size=1, max_size=6)
SHARES = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=60)


def mixture(parts):
    mean, sd = np.array(parts, dtype=float).T
    return mean[None, :], sd[None, :]


def one(value):
    return np.array([value], dtype=float)


@given(PARTS, MEANS, st.floats(-10.0, 10.0), st.floats(0.1, 8.0))
def test_crps_is_in_the_unit_of_the_values_and_knows_no_zero_point(parts, value, shift, scale):
    mean, sd = mixture(parts)

    moved = crps(one(shift + scale * value), shift + scale * mean, scale * sd)

    assert moved[0] == pytest.approx(scale * crps(one(value), mean, sd)[0], rel=1e-8, abs=1e-9)


@given(PARTS, MEANS)
def test_crps_is_never_negative(parts, value):
    assert crps(one(value), *mixture(parts))[0] > -1e-12


@given(MEANS, MEANS)
def test_crps_of_a_forecast_without_doubt_is_the_distance(said, came):
    assert crps(one(came), one(said)[None], np.array([[1e-9]]))[0] == pytest.approx(
        abs(said - came), abs=1e-8
    )


@settings(max_examples=25)
@given(PARTS, st.floats(0.3, 2.0), st.floats(0.5, 1.8))
def test_nobody_gains_by_saying_something_else_than_what_is_believed(parts, shift, stretch):
    mean, sd = mixture(parts)
    rng = np.random.default_rng(5)
    pick = rng.integers(mean.shape[1], size=2500)
    truth = rng.normal(mean[0, pick], sd[0, pick])

    def expected(score, m, s):
        return score(
            truth, np.broadcast_to(m, (truth.size, m.shape[1])), np.broadcast_to(s, (truth.size, m.shape[1]))
        )

    # The spread of the difference tells how much of it may be luck.
    for score, sign in ((crps, 1.0), (log_score, -1.0)):
        gained = sign * (expected(score, mean + shift, sd * stretch) - expected(score, mean, sd))
        assert gained.mean() > -4.0 * gained.std() / np.sqrt(truth.size)


@given(PARTS, MEANS, st.floats(-10.0, 10.0))
def test_a_log_score_knows_no_zero_point(parts, value, shift):
    mean, sd = mixture(parts)

    moved = log_score(one(value + shift), mean + shift, sd)

    assert moved[0] == pytest.approx(log_score(one(value), mean, sd)[0], rel=1e-7, abs=1e-7)


@given(PARTS, MEANS, st.floats(0.2, 5.0))
def test_a_log_score_in_another_unit_shifts_by_the_log_of_the_unit(parts, value, scale):
    mean, sd = mixture(parts)

    there, here = log_score(one(scale * value), scale * mean, scale * sd), log_score(one(value), mean, sd)

    assert there[0] == pytest.approx(here[0] - log(scale), rel=1e-7, abs=1e-7)


@given(PARTS, MEANS, st.floats(0.0, 4.0))
def test_a_higher_value_never_has_a_lower_place_in_its_forecast(parts, value, more):
    mean, sd = mixture(parts)

    assert pit(one(value), mean, sd)[0] <= pit(one(value + more), mean, sd)[0]


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_chance_said_as_it_is_scores_best_in_the_long_run(truth, said):
    def in_the_long_run(chance):
        return truth * brier(chance, 1.0) + (1.0 - truth) * brier(chance, 0.0)

    assert in_the_long_run(truth) <= in_the_long_run(said) + 1e-12


@given(SHARES)
def test_the_distance_from_uniform_is_the_greatest_that_a_plain_search_finds(pits):
    values = np.array(pits)
    # The empirical distribution jumps at its values only: look just below and at each of them.
    found = max(max(abs((values < at).mean() - at), abs((values <= at).mean() - at)) for at in values)

    assert distance_from_uniform(values) == pytest.approx(found, abs=1e-12)


@given(SHARES, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_wider_range_holds_no_fewer(pits, one_level, other):
    narrow, wide = sorted((one_level, other))

    assert coverage(np.array(pits), narrow) <= coverage(np.array(pits), wide) <= 1.0


@given(SHARES, st.floats(0.05, 0.95))
def test_coverage_is_the_same_seen_from_above_and_from_below(pits, level):
    values = np.array(pits)

    # A value on the very edge may fall either way by rounding.
    edge = np.isclose(np.abs(values - 0.5), 0.5 * level, atol=1e-12).mean()
    assert coverage(values, level) == pytest.approx(coverage(1.0 - values, level), abs=edge + 1e-12)


@pytest.mark.parametrize(("fewer", "more"), [(1, 2), (5, 20), (20, 200), (200, 2000)])
def test_more_rounds_leave_less_room_for_luck(fewer, more):
    assert uniform_band(fewer) > uniform_band(more) > 0.0


@pytest.mark.parametrize(("lax", "strict"), [(0.5, 0.8), (0.8, 0.95), (0.95, 0.99)])
def test_luck_is_given_more_room_where_it_is_to_suffice_more_often(lax, strict):
    assert uniform_band(30, lax) < uniform_band(30, strict)


def declining(slope, level=9.0, dates=(0.5, 1.5, 3.0, 4.2)):
    return SurfaceHistory("picp", Conditions(), tuple(ring(t, exp(level - slope * t)) for t in dates))


@given(st.floats(-0.5, 1.5), st.floats(5.0, 10.0), st.floats(4.5, 12.0))
def test_a_straight_line_carries_a_straight_decline_on(slope, level, at):
    past = past_rounds(declining(slope, level))

    assert straight_line(past, at) == pytest.approx(level - slope * at, abs=1e-6)


def test_a_straight_line_needs_two_dates_and_takes_the_last_value_without_them():
    one_date = past_rounds(SurfaceHistory("picp", Conditions(), (ring(1.0, 900.0), ring(1.0, 100.0))))

    assert straight_line(one_date, 7.0) == last_value(one_date, 7.0) == pytest.approx(log(100.0))


def test_a_round_counts_by_its_geometric_mean_and_a_bound_as_if_it_were_read():
    tests = (SpotTest(100.0), SpotTest(10_000.0, ">"))
    past = past_rounds(SurfaceHistory("clay", Conditions(), (RoundEvent(1.0, "ring", tests),)))

    assert past.log_rate[0] == pytest.approx(log(1000.0))


@pytest.mark.parametrize(("years_since", "rate"), [(0.0, None), (5.0, 250.0)])
def test_a_fixed_interval_says_as_new_when_cleaned_and_at_the_limit_when_due(years_since, rate):
    events = (ring(0.5, 4000.0), CleaningEvent(2.0, "vacuum"))
    past = past_rounds(SurfaceHistory("picp", Conditions(), events))
    expected = rate or priors.SURFACES["picp"].as_new_mm_h

    assert exp(fixed_interval(past, 2.0 + years_since)) == pytest.approx(expected)


def test_a_fixed_interval_never_says_that_a_surface_gets_better_by_itself():
    past = past_rounds(SurfaceHistory("picp", Conditions(), (ring(0.5, 4000.0),)))

    at_limit_above_new = [fixed_interval(past, t, limit_mm_h=1e9) for t in (1.0, 4.0)]

    assert at_limit_above_new[1] <= at_limit_above_new[0]


def test_the_fleets_mean_is_the_same_for_all_and_as_wide_as_the_fleet():
    rates = (100.0, 400.0, 1600.0)
    mean, sd = fleet_mean([SurfaceHistory("picp", Conditions(), (ring(1.0, rate),)) for rate in rates])

    assert np.allclose(mean, log(400.0))
    assert np.allclose(sd, log(4.0))


@pytest.mark.parametrize("rule", ["straight line", "last value", "fixed interval"])
def test_a_rule_without_a_past_to_judge_it_by_is_given_wide_doubt(rule):
    alone = SurfaceHistory("picp", Conditions(), (ring(1.0, 500.0),))

    mean, sd = naive_forecast(rule, [alone], np.array([2.0]))

    assert np.isfinite(mean).all()
    assert sd.tolist() == [[1.0]]


def test_the_doubt_of_a_rule_is_what_it_missed_by():
    # By the last value: the first missed by log 2, the second by log 4 the other way.
    halved = SurfaceHistory("picp", Conditions(), (ring(1.0, 800.0), ring(2.0, 400.0)))
    healed = SurfaceHistory("picp", Conditions(), (ring(1.0, 100.0), ring(2.0, 400.0)))

    _, sd = naive_forecast("last value", [halved, healed], np.array([3.0, 3.0]))

    assert sd[0, 0] == pytest.approx(np.sqrt((log(2.0) ** 2 + log(4.0) ** 2) / 2.0))


class Placed:
    def __init__(self, lo, hi=None):
        self.pit_lo, self.pit_hi = lo, lo if hi is None else hi


def test_calibration_leaves_out_rounds_of_which_only_a_range_is_known():
    judged = calibration([Placed(0.2), Placed(0.1, 0.9), Placed(0.7)])

    assert judged is not None
    assert (judged.n, judged.pits.tolist()) == (2, [0.2, 0.7])


def test_calibration_of_nothing_but_ranges_is_no_judgement():
    assert calibration([Placed(0.0, 0.4)]) is None


@pytest.mark.parametrize(
    ("pits", "honest"), [(np.linspace(0.01, 0.99, 50), True), (np.full(50, 0.97), False)]
)
def test_a_model_that_is_always_surprised_on_one_side_is_not_honest(pits, honest):
    judged = calibration([Placed(float(p)) for p in pits])

    assert judged is not None
    assert judged.honest is honest
