"""What a cleaning or a stopped source would give: the same as the forecast of the record that holds it.

The forecast itself is held to other programs elsewhere; here each outlook must agree with it, or with scipy.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.linalg import expm
from scipy.stats import invgauss, norm

from clogging import priors
from clogging.api import (
    CLEANING_METHODS,
    CleaningEvent,
    Conditions,
    SourceEvent,
    SurfaceHistory,
    after_cleaning,
    after_cleanings,
    after_source_change,
    cleaning_shares,
    forecast_surface,
    prior_fit,
)
from clogging.cleaning import chance_of_staying_above
from clogging.decline import Pace
from clogging.extrapolation import VOUCHED_YR
from clogging.forecast import percent_lost, yearly_loss
from clogging.mixture import PROBABILITIES, quantiles
from clogging.parameters import INDEX, PRIOR_MEAN, PRIOR_SD, to_params
from clogging.trajectory import State, last_state, move, run_surface, ways_ahead

from .worlds import EMPTY, PLAIN, RICH, ring

FIT = prior_fit()
SURE = replace(FIT, covariance=np.diag((1e-9 * PRIOR_SD) ** 2))


def numbers(estimate):
    return [estimate.median, estimate.lo80, estimate.hi80, estimate.lo95, estimate.hi95]


@pytest.mark.parametrize("method", CLEANING_METHODS)
@pytest.mark.parametrize(("wet", "share"), [(False, 1.0), (True, 0.6)])
def test_a_cleaning_gives_what_the_forecast_of_the_record_with_it_says(method, wet, share):
    recorded = PLAIN._replace(events=(*PLAIN.events, CleaningEvent(6.0, method, share, wet)))

    asked = after_cleaning(PLAIN, FIT, at_yr=6.0, method=method, limit_mm_h=500.0, wet=wet, share=share)
    seen = forecast_surface(recorded, FIT, now_yr=6.0, limit_mm_h=500.0)

    reached = seen.first_reach_yr(0.5)
    assert numbers(asked.after_mm_h) == pytest.approx(numbers(seen.rate_now_mm_h), rel=1e-6)
    assert asked.p_below_after == pytest.approx(seen.p_below_now, abs=1e-9)
    assert asked.years_until_limit == (None if reached is None else pytest.approx(reached - 6.0, abs=1e-9))
    assert (asked.method, asked.at_yr, asked.stay_yr) == (method, 6.0, 1.0)


def test_what_stands_before_a_cleaning_is_the_forecast_of_that_day():
    asked = after_cleaning(PLAIN, FIT, at_yr=7.5, method="vacuum", limit_mm_h=500.0)
    seen = forecast_surface(PLAIN, FIT, now_yr=7.5, limit_mm_h=500.0)

    assert numbers(asked.before_mm_h) == pytest.approx(numbers(seen.rate_now_mm_h), rel=1e-9)


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"method": "hope"}, "Unknown cleaning method 'hope'; use one of broom"),
        ({"share": 0.0}, r"above 0 and at most 1, got 0\.0"),
        ({"share": 1.01}, r"above 0 and at most 1, got 1\.01"),
        ({"share": float("nan")}, "at most 1, got nan"),
        ({"at_yr": 5.4}, r"starts at or after the last event \(5\.5 yr\), got 5\.4"),
        ({"at_yr": float("inf")}, "got inf yr"),
        ({"limit_mm_h": 0.0}, r"limit_mm_h must be above 0, got 0\.0"),
        ({"limit_mm_h": float("nan")}, "limit_mm_h must be above 0, got nan"),
        ({"limit_mm_h": float("inf")}, "limit_mm_h must be above 0, got inf"),
        ({"horizon_yr": 0.0}, r"horizon_yr must be above 0, got 0\.0"),
        ({"horizon_yr": float("inf")}, "horizon_yr must be above 0, got inf"),
    ],
)
def test_a_cleaning_that_cannot_be_is_refused_with_the_value(asked, message):
    usual = {"at_yr": 6.0, "method": "vacuum", "limit_mm_h": 250.0}

    with pytest.raises(ValueError, match=message):
        after_cleaning(PLAIN, FIT, **(usual | asked))


def test_the_day_of_the_last_event_and_the_whole_area_are_allowed():
    asked = after_cleaning(PLAIN, FIT, at_yr=5.5, method="vacuum", limit_mm_h=250.0, share=1.0)

    assert asked.at_yr == 5.5


@pytest.mark.parametrize("method", CLEANING_METHODS)
def test_the_share_a_method_gives_back_has_the_ranges_of_a_normal(method):
    """Quantiles by scipy.stats; the fit says 0.4 give or take 0.2 for the share, 0.3 give or take 0.1 for wet."""
    mode, covariance = FIT.mode.copy(), FIT.covariance.copy()
    for name, mean, sd in ((f"rho:{method}", 0.4, 0.2), (f"wet:{method}", 0.3, 0.1)):
        mode[INDEX[name]], covariance[INDEX[name], INDEX[name]] = mean, sd**2
    fit = replace(FIT, mode=mode, covariance=covariance, cleanings=FIT.cleanings | {method: 7})

    found = {one.method: one for one in cleaning_shares(fit)}

    def ranges(mean, sd):
        return [norm.ppf(p, mean, sd) for p in (0.5, 0.1, 0.9, 0.025, 0.975)]

    belief = priors.CLEANINGS[method]
    assert numbers(found[method].share) == pytest.approx(ranges(0.4, 0.2), abs=1e-12)
    assert numbers(found[method].wet_penalty) == pytest.approx(ranges(0.3, 0.1), abs=1e-12)
    assert numbers(found[method].prior) == pytest.approx(ranges(belief.share, belief.share_sd), abs=1e-12)
    assert found[method].n_cleanings == 7
    assert found[method].source == belief.source
    assert sum(one.n_cleanings for one in found.values()) == 7


FAST = SurfaceHistory(
    "picp",
    Conditions(bare_soil=True, trees=True),
    tuple(ring(t, *(3 * [10_000.0 * np.exp(-0.5 * t)])) for t in range(1, 5)),
)


@pytest.mark.parametrize("limit_mm_h", [0.05, 40.0, 400.0, 900.0, 1300.0, 1600.0, 2000.0, 1e6])
@pytest.mark.parametrize("kind", ["stopped", "started"])
def test_dates_of_both_courses_are_those_of_the_forecasts_and_the_gain_is_their_difference(kind, limit_mm_h):
    changed = FAST._replace(events=(*FAST.events, SourceEvent(4.0, kind)))

    asked = after_source_change(FAST, FIT, at_yr=4.0, kind=kind, limit_mm_h=limit_mm_h)

    evens = []
    for history, course in ((FAST, asked.without), (changed, asked.with_change)):
        seen = forecast_surface(history, FIT, now_yr=4.0, limit_mm_h=limit_mm_h)
        dates = [seen.first_reach_yr(level) for level in (0.1, 0.5, 0.9)]
        told = [course.t_p10_yr, course.t_p50_yr, course.t_p90_yr]
        assert [day is None for day in told] == [day is None for day in dates]
        assert [day for day in told if day] == pytest.approx([day for day in dates if day], abs=1e-6)
        assert numbers(course.decline_percent_a_year) == pytest.approx(
            numbers(seen.decline_percent_a_year), abs=1e-4
        )
        evens.append(dates[1])
    if evens == [None, None]:
        assert (asked.years_gained, asked.at_least) == (None, False)
    else:
        first, second = (14.0 if day is None else day for day in evens)
        assert asked.years_gained == pytest.approx(second - first, abs=1e-6)
        assert asked.at_least == (None in evens)


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"at_yr": 3.9}, r"starts at or after the last event \(4 yr\), got 3\.9"),
        ({"limit_mm_h": 0.0}, r"limit_mm_h must be above 0, got 0\.0"),
        ({"horizon_yr": -1.0}, r"horizon_yr must be above 0, got -1\.0"),
        ({"kind": "paused"}, "Unknown change of source 'paused'; use one of stopped"),
    ],
)
def test_a_change_of_source_that_cannot_be_is_refused_with_the_value(asked, message):
    usual = {"at_yr": 4.0, "kind": "stopped", "limit_mm_h": 250.0}

    with pytest.raises(ValueError, match=message):
        after_source_change(FAST, FIT, **(usual | asked))


@pytest.mark.parametrize(("n_dates", "points"), [(0, 2), (2, 2), (3, 3), (61, 61)])
def test_a_course_has_as_many_dates_as_asked_and_two_at_least(n_dates, points):
    asked = after_source_change(
        FAST, FIT, at_yr=4.0, kind="stopped", limit_mm_h=400.0, horizon_yr=6.0, n_dates=n_dates
    )

    dates = asked.without.future.t_yr
    assert dates.tolist() == np.linspace(4.0, 10.0, points).tolist()
    assert asked.with_change.p_below.shape == (points,)


@pytest.mark.parametrize(("n_future", "points"), [(1, 2), (2, 2), (5, 5)])
def test_a_forecast_has_as_many_dates_as_asked_and_two_at_least(n_future, points):
    seen = forecast_surface(
        PLAIN, FIT, now_yr=6.0, limit_mm_h=250.0, horizon_yr=4.0, n_future=n_future, n_past=3
    )

    assert seen.future.t_yr.tolist() == np.linspace(6.0, 10.0, points).tolist()
    assert sorted(set(seen.past.t_yr)) == [
        0.0,
        2.6,
        3.0,
        5.0,
        6.0,
    ]  # even dates and both sides of two cleanings


def moments_ahead(state, pace, years):
    """Mean and covariance of (x, b, lam) after some years, by the matrix exponential and an integral of the noise."""
    kappa, gamma, q = (float(part[0]) for part in pace)
    rates = np.array([[-kappa, kappa, -1.0], [0.0, 0.0, -gamma], [0.0, 0.0, 0.0]])
    matrix = expm(rates * years)
    noise = q * quad(lambda s: np.exp(-2.0 * kappa * s), 0.0, years, epsabs=1e-14)[0]
    return matrix @ state.mean[:, 0], matrix @ state.cov[..., 0] @ matrix.T + np.diag([noise, 0.0, 0.0])


STATE = State(
    3.0,
    np.array([[6.3], [7.0], [0.25]]),
    np.array([[0.3, 0.05, -0.04], [0.05, 0.2, 0.01], [-0.04, 0.01, 0.04]])[:, :, None],
)
PACES = [(0.3, 0.1, 0.2), (-0.2, 0.0, 0.05), (0.0, 0.4, 0.1), (1.5, 0.05, 0.0)]


@pytest.mark.parametrize("numbers_of_pace", PACES)
@pytest.mark.parametrize("years", [0.0, 0.3, VOUCHED_YR])
def test_a_state_moves_on_as_the_matrix_exponential_has_it(numbers_of_pace, years):
    """As long as the fitted shape is vouched for; beyond it see test_extrapolation."""
    pace = Pace(*(np.array([part]) for part in numbers_of_pace))
    mean, cov = moments_ahead(STATE, pace, years)

    run = SimpleNamespace(pace=pace, usual_lam=np.array([0.25]))
    moved = move(run, STATE, 3.0 + years)
    ahead_mean, ahead_sd = ways_ahead(run, STATE, np.array([3.0 + years])).falling

    assert moved.t_yr == 3.0 + years
    np.testing.assert_allclose(moved.mean[:, 0], mean, rtol=1e-9)
    np.testing.assert_allclose(moved.cov[..., 0], cov, rtol=1e-8, atol=1e-12)
    assert (ahead_mean[0, 0], ahead_sd[0, 0]) == pytest.approx((mean[0], np.sqrt(cov[0, 0])), rel=1e-8)


@pytest.mark.parametrize("numbers_of_pace", PACES)
def test_the_loss_of_the_coming_year_has_the_quantiles_of_the_difference_of_two_dates(numbers_of_pace):
    """Loss = x now - x in a year, normal; percent of the rate 100 (1 - e^-loss). By expm, quad and scipy.stats."""
    pace = Pace(*(np.array([part]) for part in numbers_of_pace))
    kappa, gamma, _ = numbers_of_pace
    matrix = expm(np.array([[-kappa, kappa, -1.0], [0.0, 0.0, -gamma], [0.0, 0.0, 0.0]]))
    weights = np.array([1.0, 0.0, 0.0]) - matrix[0]
    mean = weights @ STATE.mean[:, 0]
    sd = np.sqrt(weights @ STATE.cov[..., 0] @ weights)

    found = percent_lost(quantiles(*yearly_loss(STATE, pace)))

    wanted = [100.0 * (1.0 - np.exp(-norm.ppf(p, mean, sd))) for p in (0.5, 0.1, 0.9, 0.025, 0.975)]
    assert numbers(found) == pytest.approx(wanted, abs=2e-3)


@pytest.mark.parametrize("history", [PLAIN, RICH], ids=["plain", "rich"])
def test_without_doubt_about_the_portfolio_the_fan_is_one_normal_on_the_log_scale(history):
    """Rates by scipy.stats from the state at the last event, moved on by the matrix exponential, up to the bend."""
    params = to_params(PRIOR_MEAN)
    run = run_surface(history, params)
    ahead_yr = VOUCHED_YR / 3.0
    now_yr = run.last_yr + ahead_yr
    seen = forecast_surface(
        history, SURE, now_yr=now_yr, limit_mm_h=250.0, horizon_yr=2.0 * ahead_yr, n_future=3
    )

    for i, years in enumerate(seen.future.t_yr - run.last_yr):
        mean, cov = moments_ahead(last_state(run), run.pace, years)
        sd = np.sqrt(cov[0, 0])
        curve = [seen.future.lo95, seen.future.lo80, seen.future.median, seen.future.hi80, seen.future.hi95]
        wanted = np.exp(norm.ppf(PROBABILITIES, mean[0], sd))
        assert [float(part[i]) for part in curve] == pytest.approx(
            np.clip(wanted, priors.SEALED_MM_H, priors.FASTEST_MM_H), rel=1e-4
        )
        assert seen.p_below[i] == pytest.approx(norm.cdf(np.log(250.0), mean[0], sd), abs=1e-6)


def test_each_recorded_cause_adds_its_part_and_explains_its_part_of_the_place():
    """100 (1 - e^-beta) percent a year, and the place among surfaces alike but for it, by scipy.stats."""
    history = EMPTY._replace(surface_type="picp", conditions=Conditions(0.5, True, False, False, 2))
    params = to_params(PRIOR_MEAN)
    beta = dict(
        zip(("run_on_ratio", "bare_soil", "trees", "winter_grit", "traffic"), params.beta[:, 0], strict=True)
    )
    recorded = {"run_on_ratio": 0.5, "bare_soil": 1.0, "traffic": 2.0}

    causes = {
        one.condition: one
        for one in forecast_surface(history, SURE, now_yr=0.0, limit_mm_h=250.0).recorded_causes
    }

    assert causes.keys() == recorded.keys()
    for name, size in recorded.items():
        added = beta[name] * size
        assert causes[name].added_percent_a_year.median == pytest.approx(
            100.0 * (1.0 - np.exp(-added)), rel=1e-5
        )
        spread = np.sqrt(2.0) * params.tau_lam[0]  # this surface's own decline and that of the others
        assert causes[name].percentile_without == pytest.approx(norm.cdf(added / spread), abs=1e-6)


STILL = [
    (0.8, 0.25, 0.2, 2.0),
    (0.3, 0.4, 0.1, 1.0),
    (1.5, 0.1, 0.6, 5.0),
    (0.2, 0.05, 0.02, 0.5),
    (0.8, 2.0, 0.2, 2.0),
]


@pytest.mark.parametrize(("height", "lam", "q", "years"), STILL)
@pytest.mark.parametrize("sd", [0.0, 0.4])
def test_the_chance_of_staying_above_is_that_of_a_first_passage_by_scipy(height, lam, q, years, sd):
    """Without kappa and gamma the log rate is a random walk with drift, and its first passage is inverse Gaussian
    with mean height / lam and shape height² / q (Chhikara & Folks 1989); averaged over where it starts. 64 paths."""
    pace = Pace(np.zeros(1), np.zeros(1), np.array([q]))
    cov = np.zeros((3, 3, 1))
    cov[0, 0] = sd**2
    state = State(1.0, np.array([[5.5 + height], [9.0], [lam]]), cov)

    def stays(above):
        shape = above**2 / q
        return invgauss.sf(years, above / lam / shape, scale=shape) if above > 1e-6 else 0.0

    expected = stays(height)
    if sd:
        expected = quad(lambda a: stays(a) * norm.pdf(a, height, sd), 0.0, height + 6 * sd, limit=200)[0]

    assert chance_of_staying_above(state, 5.5, years, pace) == pytest.approx(expected, abs=0.03)


def test_since_the_last_event_the_past_is_what_was_ahead_of_it():
    """PLAIN was last tested at 5.5 years: from there on nothing later tells more than the forecast of that day did."""
    seen = forecast_surface(PLAIN, FIT, now_yr=8.0, limit_mm_h=250.0, n_past=17)  # every half year
    then = forecast_surface(PLAIN, FIT, now_yr=5.5, limit_mm_h=250.0, horizon_yr=2.5, n_future=6)

    since = seen.past.t_yr > 5.5
    assert seen.past.t_yr[since].tolist() == then.future.t_yr[1:].tolist() == [6.0, 6.5, 7.0, 7.5, 8.0]
    for past, future in zip(seen.past[1:], then.future[1:], strict=True):
        np.testing.assert_allclose(past[since], future[1:], rtol=1e-6)
    before = forecast_surface(PLAIN, FIT, now_yr=8.0, limit_mm_h=250.0, n_past=17).past.median[
        seen.past.t_yr < 1.0
    ]
    assert (before > 6000.0).all()  # as the tests of the first year read


@pytest.mark.parametrize("history", [PLAIN, EMPTY], ids=["plain", "empty"])
def test_methods_asked_together_are_told_what_each_is_told_alone(history):
    asked = {"at_yr": 6.0, "limit_mm_h": 500.0, "share": 0.8, "stay_yr": 1.5}

    together = after_cleanings(history, FIT, methods=CLEANING_METHODS, **asked)

    assert after_cleanings(history, FIT, methods=(), **asked) == ()
    assert [each.method for each in together] == list(CLEANING_METHODS)
    for each in together:
        alone = after_cleaning(history, FIT, method=each.method, **asked)
        assert (each.years_until_limit is None) == (alone.years_until_limit is None)
        assert each.years_until_limit is None or each.years_until_limit == pytest.approx(
            alone.years_until_limit
        )
        for field in ("before_mm_h", "after_mm_h", "p_below_after", "p_stays_above"):
            np.testing.assert_allclose(getattr(each, field), getattr(alone, field), rtol=1e-9)


def test_a_surface_asked_about_again_is_not_taken_for_another():
    """What was filtered last is kept: another history and another fit each get their own."""
    other = replace(FIT, mode=FIT.mode + 0.5 * PRIOR_SD)
    longer = PLAIN._replace(events=(*PLAIN.events, ring(6.0, 40.0)))
    now = {"now_yr": 6.5, "limit_mm_h": 250.0}

    first, again = (forecast_surface(PLAIN, FIT, **now).rate_now_mm_h for _ in range(2))
    grown, believed = forecast_surface(longer, FIT, **now), forecast_surface(PLAIN, other, **now)

    assert first == again == forecast_surface(PLAIN, FIT, **now).rate_now_mm_h
    assert grown.rate_now_mm_h.median < 0.5 * first.median
    assert believed.rate_now_mm_h.median != first.median
