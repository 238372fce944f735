"""Mixtures, scores and the naive rules against independent computations."""

import numpy as np
import pytest
from scipy.stats import kstest, norm

from clogging.api import CleaningEvent, Conditions, SurfaceHistory, calibration, forecast_surface, prior_fit
from clogging.calibration_study import ring_only
from clogging.layout import flatten
from clogging.mixture import PROBABILITIES, probability_below, quantiles
from clogging.parameters import PRIOR_MEAN, to_params
from clogging.scores import (
    coverage,
    crps,
    distance_from_uniform,
    fixed_interval,
    last_value,
    log_score,
    naive_forecast,
    past_rounds,
    straight_line,
    uniform_band,
)
from clogging.simulate import draw_plan, simulate, to_histories, to_table

from .worlds import ring

RNG = np.random.default_rng(51)
MEAN, SD = RNG.normal(0.0, 2.0, (20, 7)), np.exp(RNG.normal(0.0, 0.7, (20, 7)))


def test_quantiles_of_a_mixture_have_their_probability():
    values = quantiles(MEAN, SD)

    for i, probability in enumerate(PROBABILITIES):
        assert probability_below(values[:, i], MEAN, SD) == pytest.approx(probability, abs=1e-5)


def test_quantiles_of_one_normal_are_its_own():
    assert quantiles(MEAN[:, :1], SD[:, :1]) == pytest.approx(
        norm.ppf(PROBABILITIES, MEAN[:, :1], SD[:, :1]), abs=1e-9
    )


def test_quantiles_of_a_point_are_the_point():
    assert quantiles(np.full((1, 4), 3.0), np.zeros((1, 4))) == pytest.approx(3.0)


def test_log_score_is_the_log_of_the_average_density():
    value = MEAN[:, 0] + 0.3

    expected = np.log(norm.pdf(value[:, None], MEAN, SD).mean(1))

    assert log_score(value, MEAN, SD) == pytest.approx(expected, rel=1e-12)


def test_crps_equals_the_integral_of_the_squared_difference():
    value = MEAN[:, 0] + 0.3
    grid = np.linspace(-60.0, 60.0, 60_001)
    below = norm.cdf((grid[:, None, None] - MEAN) / SD).mean(2)

    expected = np.trapezoid((below - (grid[:, None] >= value)) ** 2, grid, axis=0)

    assert crps(value, MEAN, SD) == pytest.approx(expected, abs=2e-3)


def test_distance_and_band_are_those_of_kolmogorov():
    pits = RNG.uniform(size=200)
    test = kstest(pits, "uniform")

    assert distance_from_uniform(pits) == pytest.approx(test.statistic, rel=1e-12)
    assert (distance_from_uniform(pits) < uniform_band(200)) == (test.pvalue > 0.05)


def test_coverage_counts_the_central_range():
    assert coverage(np.array([0.05, 0.2, 0.5, 0.8, 0.95]), 0.7) == pytest.approx(0.6)


def test_calibration_uses_rounds_of_readings_and_tells_honest_from_not():
    history = SurfaceHistory("picp", Conditions(), tuple(ring(t, 9000.0 * 0.8**t) for t in range(5)))
    wild = history._replace(events=tuple(ring(t, 10.0 ** (8 * (t % 2))) for t in range(30)))
    checks, wild_checks = (
        forecast_surface(h, prior_fit(), now_yr=30.0, limit_mm_h=250.0).rounds for h in (history, wild)
    )

    usual, odd = calibration(checks), calibration(wild_checks)

    assert usual.n == 5
    assert usual.honest
    assert not odd.honest
    assert calibration([]) is None


def test_naive_rules_do_what_a_person_with_a_spreadsheet_does():
    history = SurfaceHistory(
        "picp", Conditions(), (ring(0.0, 8000.0), ring(1.0, 4000.0), CleaningEvent(1.5, "vacuum"))
    )
    past = past_rounds(history)

    assert np.exp(straight_line(past, 3.0)) == pytest.approx(1000.0)
    assert np.exp(last_value(past, 3.0)) == pytest.approx(4000.0)
    assert np.exp(fixed_interval(past, 1.5)) == pytest.approx(10_000.0)
    assert np.exp(fixed_interval(past, 6.5)) == pytest.approx(250.0)


def test_naive_spread_is_what_the_rule_missed_by():
    histories = [
        SurfaceHistory("picp", Conditions(), (ring(0.0, 1000.0), ring(1.0, 1000.0 * np.exp(s))))
        for s in (1, -3)
    ]

    mean, sd = naive_forecast("last value", histories, np.array([2.0, 2.0]))

    assert sd[0, 0] == pytest.approx(np.sqrt((1 + 9) / 2))
    assert np.exp(mean[:, 0]) == pytest.approx(1000.0 * np.exp([1, -3]))


def test_simulated_tables_equal_flattened_histories():
    rng = np.random.default_rng(52)
    fast = to_params(PRIOR_MEAN)  # so far from sealed that every result is a reading
    fast = fast._replace(mu_b=fast.mu_b + 4.0)
    world = simulate(rng, ring_only(draw_plan(rng, 40, 6)), fast)

    at_once, by_objects = to_table(world), flatten(to_histories(world))

    np.testing.assert_allclose(at_once.rows, by_objects.rows, atol=1e-12)
    np.testing.assert_array_equal(at_once.first, by_objects.first)
    np.testing.assert_allclose(at_once.z, by_objects.z)


def test_a_straight_line_is_judged_by_what_it_missed_and_drawn_through_all_it_has():
    """By hand: log rates 7, 6, 5.5 and 12, 11, 11 a year apart. The line through the first two says 5 and 10, and
    misses by 0.5 and 1: sd sqrt((0.25 + 1) / 2). Through three points the slopes are -0.75 and -0.5 about the means
    6.1667 and 11.3333 at year 1, so that year 3 has 4.6667 and 10.3333."""
    histories = [
        SurfaceHistory(
            "picp", Conditions(), tuple(ring(float(t), float(np.exp(y))) for t, y in enumerate(logs))
        )
        for logs in ((7.0, 6.0, 5.5), (12.0, 11.0, 11.0))
    ]

    mean, sd = naive_forecast("straight line", histories, np.array([3.0, 3.0]))

    assert mean[:, 0] == pytest.approx([6.0 + 1 / 6 - 1.5, 11.0 + 1 / 3 - 1.0])
    assert sd[:, 0] == pytest.approx([np.sqrt(0.625)] * 2)
    assert mean.shape == sd.shape == (2, 1)


def test_a_rule_without_any_second_round_has_the_spread_of_not_knowing():
    once = SurfaceHistory("picp", Conditions(), (ring(1.0, 5000.0),))

    mean, sd = naive_forecast("straight line", [once], np.array([4.0]))

    assert np.exp(mean[0, 0]) == pytest.approx(5000.0)
    assert sd[0, 0] == 1.0


@pytest.mark.parametrize(
    ("t_yr", "cleaned_yr", "log_rate"),
    [
        (0.0, None, 10_000.0),
        (5.0, None, 250.0),
        (2.5, None, (10_000.0 * 250.0) ** 0.5),
        (7.0, 4.5, (10_000.0 * 250.0) ** 0.5),
    ],
)
def test_a_fixed_interval_falls_from_as_new_to_the_limit_in_five_years(t_yr, cleaned_yr, log_rate):
    """Straight on the log scale: half way the geometric mean. As new 10 000 mm/h: the prior of pavers."""
    events = (
        (ring(0.0, 8000.0),)
        if cleaned_yr is None
        else (ring(0.0, 8000.0), CleaningEvent(cleaned_yr, "vacuum"))
    )

    past = past_rounds(SurfaceHistory("picp", Conditions(), events))

    assert np.exp(fixed_interval(past, t_yr)) == pytest.approx(log_rate)
