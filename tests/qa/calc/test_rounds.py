from math import exp, log, sqrt
from random import Random
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from core.calc.bounds import Bound
from core.calc.units import UnitSystem
from core.errors import UnusableRecordError
from qa.calc.rounds import (
    Rate,
    RoundConditions,
    below_limit,
    below_limit_in_ranges,
    geometric_mean,
    more_tests_needed,
    round_deviations,
    round_statistics,
    spot_mean,
    surface_range,
)

RATES = st.lists(st.floats(min_value=1, max_value=1e5), min_size=1, max_size=20)
DRY = RoundConditions(hours_since_rain=48, standing_water=False)


@given(rates=RATES, factor=st.floats(min_value=0.01, max_value=100))
def test_statistics_scale_with_the_rates_and_keep_their_order(rates, factor):
    one = round_statistics([Rate(r) for r in rates])
    scaled = round_statistics([Rate(r * factor) for r in rates])

    assert scaled.mean.rate_mm_h == pytest.approx(one.mean.rate_mm_h * factor)
    assert scaled.geometric_mean.rate_mm_h == pytest.approx(one.geometric_mean.rate_mm_h * factor)
    assert one.geometric_mean.rate_mm_h <= one.mean.rate_mm_h * (1 + 1e-12)


@given(rates=RATES, seed=st.integers(min_value=0, max_value=99))
def test_the_order_of_the_spots_does_not_matter(rates, seed):
    shuffled = list(rates)
    Random(seed).shuffle(shuffled)

    one, other = (round_statistics([Rate(r) for r in values]) for values in (rates, shuffled))

    assert one.mean.rate_mm_h == pytest.approx(other.mean.rate_mm_h)
    assert one.median == other.median


def test_the_surface_range_is_students_interval_on_the_logarithms():
    rates = [1200.0, 400.0, 90.0, 700.0]
    logs = [log(r) for r in rates]

    found = surface_range([Rate(r) for r in rates])

    low, high = stats.t.interval(0.95, 3, fmean(logs), stdev(logs) / 2)
    assert (found.low_mm_h, found.high_mm_h) == pytest.approx((exp(low), exp(high)))
    assert found.spread_factor == pytest.approx(exp(stdev(logs)))


def test_bounds_enter_the_range_by_the_likelihood_of_a_censored_normal():
    spots = [Rate(800), Rate(300), Rate(150), Rate(97.2, Bound.BELOW), Rate(5000, Bound.ABOVE)]

    def minus_loglik(p):
        mu, sigma = p[0], exp(p[1])
        exact = stats.norm.logpdf([log(800), log(300), log(150)], mu, sigma).sum()
        return -(exact + stats.norm.logcdf(log(97.2), mu, sigma) + stats.norm.logsf(log(5000), mu, sigma))

    mu, log_sigma = optimize.minimize(minus_loglik, [log(400), 0], method="Nelder-Mead", tol=1e-10).x
    found = surface_range(spots)

    assert found.geometric_mean_mm_h == pytest.approx(exp(mu), rel=1e-4)
    assert log(found.spread_factor) == pytest.approx(exp(log_sigma) * sqrt(5 / 4), rel=1e-4)


def test_the_range_covers_the_true_mean_about_as_often_as_it_says_with_bounds_among_the_rates():
    rng = Random(20)
    hits, rounds = 0, 400
    for _ in range(rounds):
        rates = [exp(rng.gauss(log(300), 0.8)) for _ in range(10)]
        spots = [Rate(r) if r > 120 else Rate(120, Bound.BELOW) for r in rates]
        found = surface_range(spots)
        hits += found.low_mm_h <= 300 <= found.high_mm_h

    assert 0.91 <= hits / rounds <= 0.985


@pytest.mark.parametrize("spots", [[Rate(100)], [Rate(100), Rate(100)], [Rate(50), Rate(97, Bound.BELOW)]])
def test_a_range_is_withheld_when_the_rates_do_not_suffice(spots):
    statistics = round_statistics(spots)

    assert statistics.surface is None
    assert "Test more spots" in statistics.note


@pytest.mark.parametrize(
    ("bounds", "mean_bound"),
    [
        ("===", Bound.EXACT),
        ("<==", Bound.BELOW),
        ("==>", Bound.ABOVE),
        ("<=>", Bound.UNCLEAR),
    ],
)
def test_a_mean_with_a_bound_in_it_is_a_bound(bounds, mean_bound):
    spots = [Rate(r, Bound(b)) for r, b in zip((90, 400, 1200), bounds, strict=True)]

    assert round_statistics(spots).mean.bound is mean_bound


def test_a_slow_bounded_spot_leaves_the_median_exact():
    spots = [Rate(90, Bound.BELOW), Rate(400), Rate(1200)]

    assert round_statistics(spots).median.bound is Bound.EXACT


def test_a_bounded_middle_spot_bounds_the_median():
    assert round_statistics([Rate(90), Rate(400, Bound.BELOW), Rate(1200)]).median.bound is Bound.BELOW
    assert round_statistics([Rate(90), Rate(400, Bound.ABOVE), Rate(1200)]).median.bound is Bound.ABOVE


def test_bounds_are_counted_against_the_limit_only_where_they_decide():
    spots = [
        Rate(249.9),
        Rate(250.0),
        Rate(97.2, Bound.BELOW),
        Rate(400, Bound.BELOW),
        Rate(3000, Bound.ABOVE),
        Rate(100, Bound.ABOVE),
    ]

    found = [below_limit([spot], 250.0) for spot in spots]

    assert [(one.below, one.not_below, one.undecided) for one in found] == [
        (1, 0, 0),
        (0, 1, 0),
        (1, 0, 0),
        (0, 0, 1),
        (0, 1, 0),
        (0, 0, 1),
    ]
    together = below_limit(spots, 250.0)
    assert (together.below, together.not_below, together.undecided) == (2, 2, 2)


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (100.0, 249.0, (1, 0, 0)),
        (100.0, 250.0, (0, 0, 1)),
        (249.0, 900.0, (0, 0, 1)),
        (250.0, 900.0, (0, 1, 0)),
        (250.0, 250.0, (0, 1, 0)),
    ],
)
def test_a_range_decides_only_where_it_lies_on_one_side_of_the_limit(low, high, told):
    found = below_limit_in_ranges([(low, high)], 250.0)

    assert (found.below, found.not_below, found.undecided) == told


def test_the_note_says_how_many_rates_are_bounds():
    exact = [Rate(100), Rate(200), Rate(300)]

    assert round_statistics(exact).note == ""
    assert round_statistics([*exact, Rate(50, Bound.BELOW)]).note.startswith("1 of 4 rates are bounds")


def test_the_lowest_and_the_highest_spot_are_named_with_their_bounds():
    spots = [Rate(300), Rate(90, Bound.BELOW), Rate(5000, Bound.ABOVE), Rate(700)]

    found = round_statistics(spots)

    assert (found.lowest, found.highest) == (Rate(90, Bound.BELOW), Rate(5000, Bound.ABOVE))
    assert (found.spots, found.bounded_spots) == (4, 2)


def test_a_median_between_bounds_on_both_sides_is_unclear():
    spots = [Rate(90, Bound.ABOVE), Rate(400, Bound.BELOW)]

    assert round_statistics(spots).median.bound is Bound.UNCLEAR


def test_the_plan_of_further_tests_ends_at_five_hundred():
    assert more_tests_needed(1000.0, 3, 1.01) == 497


def test_a_surface_known_well_enough_asks_for_no_further_test():
    assert more_tests_needed(1.0, 1, 1.5) == 1  # one spot says nothing of the spread
    assert more_tests_needed(1.0, 2, 1.5) == 0


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.99])
def test_the_range_is_as_wide_as_the_confidence_that_is_asked(confidence):
    logs = [log(r) for r in (1200.0, 400.0, 90.0)]

    found = surface_range([Rate(exp(x)) for x in logs], confidence)

    low, high = stats.t.interval(confidence, 2, fmean(logs), stdev(logs) / sqrt(3))
    assert (found.low_mm_h, found.high_mm_h) == pytest.approx((exp(low), exp(high)))
    assert found.confidence == confidence


def test_a_range_is_of_95_percent_where_nothing_else_is_asked():
    spots = [Rate(1200.0), Rate(400.0), Rate(90.0)]

    assert surface_range(spots) == surface_range(spots, 0.95)
    assert round_statistics(spots) == round_statistics(spots, 0.95)
    assert more_tests_needed(2.5, 3, 1.5) == more_tests_needed(2.5, 3, 1.5, 0.95)


def test_the_error_with_bounds_is_that_of_the_observed_information():
    """Louis's error against the curvature of the censored likelihood, by finite differences."""
    spots = [Rate(800), Rate(300), Rate(150), Rate(420), Rate(97.2, Bound.BELOW), Rate(5000, Bound.ABOVE)]
    found = surface_range(spots)
    mu, sigma = log(found.geometric_mean_mm_h), log(found.spread_factor) / sqrt(6 / 5)

    def loglik(at):
        exact = stats.norm.logpdf([log(s.rate_mm_h) for s in spots[:4]], at, sigma).sum()
        return exact + stats.norm.logcdf(log(97.2), at, sigma) + stats.norm.logsf(log(5000), at, sigma)

    step = 1e-4
    curvature = (loglik(mu + step) - 2 * loglik(mu) + loglik(mu - step)) / step**2
    half = log(found.high_mm_h / found.geometric_mean_mm_h)
    assert half == pytest.approx(stats.t.ppf(0.975, 3) * sqrt(6 / 5) / sqrt(-curvature), rel=1e-3)


@pytest.mark.parametrize("hours", [0.0, 23.9])
def test_rain_of_less_than_a_day_ago_is_told_with_the_hours(hours):
    (found,) = round_deviations(RoundConditions(hours, False), 3, 900, UnitSystem.SI)

    assert found.message.startswith(f"It rained {hours:g} h before the tests; at least 24 h without rain")
    assert (found.value, found.allowed) == (hours, "at least 24 h")


def test_an_unknown_rain_is_no_departure():
    assert round_deviations(RoundConditions(None, False), 3, 900, UnitSystem.SI) == ()


def test_a_third_test_at_a_spot_is_left_out_of_its_mean():
    assert spot_mean([Rate(100), Rate(200), Rate(9000)]) == Rate(150)
    assert spot_mean([Rate(100), Rate(200, Bound.ABOVE)]).bound is Bound.ABOVE


@given(
    spread=st.floats(min_value=1.05, max_value=8),
    factor=st.floats(min_value=1.2, max_value=4),
    tested=st.integers(min_value=0, max_value=20),
)
def test_the_tests_asked_for_bring_the_range_within_the_factor(spread, factor, tested):
    more = more_tests_needed(spread, tested, factor)

    n = tested + more
    if 2 <= n < 500:
        assert stats.t.ppf(0.975, n - 1) * log(spread) / sqrt(n) <= log(factor) * (1 + 1e-9)
    if more > 0 and n > 2:
        assert stats.t.ppf(0.975, n - 2) * log(spread) / sqrt(n - 1) > log(factor)


def test_a_round_after_rain_with_water_standing_and_too_few_spots_says_so():
    wet = RoundConditions(hours_since_rain=10, standing_water=True)

    found = [d.key for d in round_deviations(wet, 2, 900, UnitSystem.SI)]

    assert found == ["too_few_locations", "recent_rain", "standing_water"]
    assert round_deviations(DRY, 3, 900, UnitSystem.SI) == ()
    assert round_deviations(RoundConditions(24.0, False), 3, 900, UnitSystem.SI) == ()


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: round_statistics([]), "A round needs at least 1 rate, got 0"),
        (lambda: round_statistics([Rate(0)]), "Rate must be more than 0 mm/h, got 0"),
        (lambda: spot_mean([]), "A spot needs at least 1 test, got 0"),
        (lambda: geometric_mean([]), "A round needs at least 1 rate, got 0"),
        (lambda: geometric_mean([Rate(-1)]), "Rate must be more than 0 mm/h, got -1"),
        (lambda: below_limit_in_ranges([(1, 2)], 0), "Limit must be more than 0 mm/h, got 0"),
        (lambda: below_limit([Rate(1)], 0), "Limit must be more than 0 mm/h, got 0"),
    ],
)
def test_what_gives_no_rate_is_refused(call, message):
    with pytest.raises(UnusableRecordError, match=message):
        call()


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: surface_range([Rate(1)], confidence=95), "Confidence must be between 0 and 1, got 95"),
        (lambda: more_tests_needed(2, 3, 1), "the factor more than 1, got 2 and 1"),
        (lambda: surface_range([Rate(1)], confidence=0), "Confidence must be between 0 and 1, got 0"),
        (lambda: surface_range([Rate(1)], confidence=1), "Confidence must be between 0 and 1, got 1"),
        (lambda: more_tests_needed(0.9, 3, 2), "The spread must be 1 or more .* got 0.9 and 2"),
    ],
)
def test_no_confidence_or_factor_can_be_asked_that_makes_no_sense(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_a_rate_equal_to_the_limit_but_for_the_last_binary_digit_is_not_below_it():
    limit_mm_h = 254.0
    a_hair_less = Rate(limit_mm_h * (1 - 2e-16))

    assert a_hair_less.rate_mm_h < limit_mm_h
    assert below_limit([a_hair_less], limit_mm_h).below == 0
