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

    found = below_limit(spots, 250.0)

    assert (found.below, found.not_below, found.undecided) == (2, 2, 2)


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
    ],
)
def test_a_call_that_no_record_leads_to_is_the_programmers_mistake(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_a_rate_equal_to_the_limit_but_for_the_last_binary_digit_is_not_below_it():
    limit_mm_h = 254.0
    a_hair_less = Rate(limit_mm_h * (1 - 2e-16))

    assert a_hair_less.rate_mm_h < limit_mm_h
    assert below_limit([a_hair_less], limit_mm_h).below == 0
