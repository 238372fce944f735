"""The front door: shapes, order, and what must hold whatever the numbers are."""

import dataclasses
import json

import numpy as np
import pytest
from scipy.stats import norm

from clogging.api import (
    CLEANING_METHODS,
    CleaningEvent,
    Conditions,
    PortfolioFit,
    RoundEvent,
    SourceEvent,
    SpotTest,
    SurfaceHistory,
    after_cleaning,
    cleaning_shares,
    fit_portfolio,
    forecast_surface,
    prior_fit,
)
from clogging.cleaning import chance_of_staying_above
from clogging.decline import Pace
from clogging.parameters import PRIOR_MEAN, PRIOR_SD, to_params
from clogging.trajectory import State, last_state, run_surface
from core.errors import ImpossibleRecordError, OutdatedFitError

from .worlds import BOUNDED, CHANGED, EMPTY, PLAIN, RICH, ring

FIT = prior_fit()
SURE = dataclasses.replace(FIT, covariance=np.diag((1e-9 * PRIOR_SD) ** 2))  # no doubt about the portfolio


def finite(value):
    """Every number inside a result, however deep."""
    if value is None or isinstance(value, str | bool):
        return True
    if isinstance(value, tuple):
        return all(finite(part) for part in value)
    return bool(np.isfinite(value).all())


@pytest.mark.parametrize(
    "history", [PLAIN, RICH, BOUNDED, EMPTY, CHANGED], ids=["plain", "rich", "bounded", "empty", "changed"]
)
def test_forecast_is_finite_and_its_ranges_are_nested(history):
    seen = forecast_surface(history, FIT, now_yr=6.0, limit_mm_h=250.0)

    assert finite(seen)
    for curve in (seen.past, seen.future):
        for low, high in (("lo95", "lo80"), ("lo80", "median"), ("median", "hi80"), ("hi80", "hi95")):
            assert (getattr(curve, low) <= getattr(curve, high)).all()
    assert seen.past.t_yr[0] == 0.0
    assert seen.past.t_yr[-1] == seen.future.t_yr[0] == 6.0
    assert seen.future.t_yr[-1] == 16.0


def test_past_curve_meets_the_forecast_today():
    seen = forecast_surface(PLAIN, FIT, now_yr=6.0, limit_mm_h=250.0)

    for past, future in zip(seen.past[1:], seen.future[1:], strict=True):
        assert past[-1] == pytest.approx(future[0], rel=1e-9)
    assert seen.rate_now_mm_h.median == pytest.approx(seen.future.median[0])


def test_dates_of_10_50_and_90_percent_lie_in_order_and_on_the_curve():
    seen = forecast_surface(PLAIN, SURE, now_yr=6.0, limit_mm_h=400.0, horizon_yr=60.0, n_future=121)

    early, even, late = (seen.first_reach_yr(level) for level in (0.1, 0.5, 0.9))
    assert early < even < late
    at_half = np.interp(even, seen.future.t_yr, seen.p_below)
    assert at_half == pytest.approx(0.5, abs=0.01)
    assert np.interp(even, seen.future.t_yr, seen.future.median) == pytest.approx(400.0, rel=0.03)


def test_a_limit_that_is_never_reached_has_no_date_and_one_passed_has_today():
    never = forecast_surface(PLAIN, SURE, now_yr=6.0, limit_mm_h=1e-9)
    passed = forecast_surface(PLAIN, SURE, now_yr=6.0, limit_mm_h=1e9)

    assert [never.first_reach_yr(level) for level in (0.1, 0.5, 0.9)] == [None, None, None]
    assert [passed.first_reach_yr(level) for level in (0.1, 0.5, 0.9)] == [6.0, 6.0, 6.0]


def test_a_surface_without_tests_stands_in_the_middle_of_its_kind():
    seen = forecast_surface(EMPTY, FIT, now_yr=3.0, limit_mm_h=250.0)

    assert seen.decline_percentile == pytest.approx(0.5, abs=1e-9)
    assert seen.rounds == ()


def test_a_surface_that_falls_fast_stands_in_the_worst_tail_of_its_kind():
    fast = SurfaceHistory(
        "picp", Conditions(), tuple(ring(t, *(3 * [10000.0 * np.exp(-0.7 * t)])) for t in range(6))
    )
    slow = SurfaceHistory("picp", Conditions(), tuple(ring(t, *(3 * [10000.0])) for t in range(6)))

    fit = fit_portfolio([fast, slow, slow, slow])
    fast_seen, slow_seen = (forecast_surface(h, fit, now_yr=5.0, limit_mm_h=250.0) for h in (fast, slow))

    assert fast_seen.decline_percentile > 0.9
    assert slow_seen.decline_percentile < 0.35
    assert fast_seen.decline_percent_a_year.median > slow_seen.decline_percent_a_year.median


def test_past_curve_jumps_at_a_cleaning():
    history = SurfaceHistory(
        "picp",
        Conditions(),
        (ring(4.0, 300.0, 320.0), CleaningEvent(4.0, "joint_refill"), ring(4.0, 6000.0, 7000.0)),
    )

    past = forecast_surface(history, FIT, now_yr=5.0, limit_mm_h=250.0).past

    before, after = past.median[past.t_yr == 4.0][[0, -1]]
    assert after > 3.0 * before


def test_measured_gain_compares_the_nearest_rounds_on_both_sides():
    gain = forecast_surface(PLAIN, FIT, now_yr=6.0, limit_mm_h=250.0).gains

    assert [g.method for g in gain] == ["vacuum", "regen_air"]
    assert gain[0].measured_factor == pytest.approx((5200.0 * 4400.0 * 3900.0) ** (1 / 3) / 3500.0)
    assert (gain[0].before_yr, gain[0].after_yr) == (2.4, 2.6)
    assert gain[1].measured_factor is None  # a frame before, a ring after: never compared as they stand
    assert gain[0].factor.lo80 < gain[0].factor.median < gain[0].factor.hi80


def test_rounds_with_bounds_have_a_range_of_probability():
    rounds = forecast_surface(BOUNDED, FIT, now_yr=6.0, limit_mm_h=250.0).rounds

    assert rounds[0].pit_hi == 1.0
    assert rounds[0].pit_lo < 1.0
    assert (rounds[1].pit_lo, rounds[1].pit_hi) == (0.0, 1.0)
    assert rounds[2].pit_lo == 0.0
    assert rounds[3].pit_lo == rounds[3].pit_hi


def test_better_cleanings_last_longer():
    outlooks = {
        method: after_cleaning(PLAIN, FIT, at_yr=6.0, method=method, limit_mm_h=600.0, horizon_yr=20.0)
        for method in CLEANING_METHODS
    }

    ranked = ["broom", "vacuum", "joint_refill", "relay"]
    medians = [outlooks[m].after_mm_h.median for m in ranked]
    assert medians == sorted(medians)
    stays = [outlooks[m].p_stays_above for m in ranked]
    assert stays == sorted(stays)
    assert outlooks["relay"].years_until_limit > outlooks["joint_refill"].years_until_limit


def test_chance_of_staying_above_never_exceeds_the_chance_at_either_end():
    seen = after_cleaning(PLAIN, FIT, at_yr=6.0, method="vacuum", limit_mm_h=400.0, stay_yr=2.0)
    none = after_cleaning(PLAIN, FIT, at_yr=6.0, method="vacuum", limit_mm_h=400.0, stay_yr=1e-9)

    assert seen.p_stays_above < none.p_stays_above
    assert none.p_stays_above == pytest.approx(1.0 - none.p_below_after, abs=0.01)


def test_sweeping_a_wet_surface_gives_back_less_than_a_dry_one():
    dry, wet = (
        after_cleaning(PLAIN, FIT, at_yr=6.0, method="regen_air", limit_mm_h=400.0, wet=wet)
        for wet in (False, True)
    )

    assert dry.after_mm_h.median > dry.before_mm_h.median > wet.after_mm_h.median


def test_cleaning_half_the_area_gives_back_less_than_all_of_it():
    half, whole = (
        after_cleaning(PLAIN, FIT, at_yr=6.0, method="joint_refill", limit_mm_h=400.0, share=share)
        for share in (0.5, 1.0)
    )

    assert half.before_mm_h.median < half.after_mm_h.median < whole.after_mm_h.median


def test_chance_of_staying_above_equals_that_of_simulated_paths():
    rng, pace = np.random.default_rng(61), Pace(np.array([0.3]), np.array([0.1]), np.array([0.2]))
    cov = np.array([[0.3, 0.0, -0.05], [0.0, 0.2, 0.0], [-0.05, 0.0, 0.04]])
    state = State(3.0, np.array([[6.3], [7.0], [0.25]]), cov[:, :, None])
    x, b, lam = rng.multivariate_normal(state.mean[:, 0], cov, size=20_000).T
    above, step = x > 5.5, 2.0 / 400
    for noise in rng.normal(0.0, np.sqrt(0.2 * step), size=(400, 20_000)):
        x = x - (lam + 0.3 * (x - b)) * step + noise
        b = b - 0.1 * lam * step
        above &= x > 5.5

    # A path looked at 400 times can slip below unseen: about 0.02 here.
    assert chance_of_staying_above(state, 5.5, 2.0, pace) == pytest.approx(above.mean(), abs=0.025)


def test_percentile_compares_the_decline_with_that_of_like_surfaces():
    params = to_params(PRIOR_MEAN)
    state = last_state(run_surface(RICH, params))
    usual = run_surface(EMPTY._replace(surface_type="porous_asphalt", conditions=RICH.conditions), params)
    away = state.mean[2, 0] - last_state(usual).mean[2, 0]
    expected = norm.cdf(away / np.sqrt(state.cov[2, 2, 0] + params.tau_lam[0] ** 2))

    seen = forecast_surface(RICH, SURE, now_yr=5.0, limit_mm_h=250.0)

    assert seen.decline_percentile == pytest.approx(expected, abs=1e-6)


def test_cleaning_shares_of_the_prior_are_the_prior():
    shares = cleaning_shares(FIT)

    assert [s.method for s in shares] == list(CLEANING_METHODS)
    assert all(s.share == pytest.approx(s.prior) and s.n_cleanings == 0 for s in shares)


def test_a_fit_survives_json():
    fit = fit_portfolio([PLAIN, RICH, BOUNDED])

    again = PortfolioFit.from_dict(json.loads(json.dumps(fit.to_dict())))

    np.testing.assert_array_equal(again.mode, fit.mode)
    np.testing.assert_array_equal(again.covariance, fit.covariance)
    assert forecast_surface(PLAIN, again, now_yr=6.0, limit_mm_h=250.0).p_below_now == (
        forecast_surface(PLAIN, fit, now_yr=6.0, limit_mm_h=250.0).p_below_now
    )


def test_a_fit_of_another_schema_is_refused():
    stored = prior_fit().to_dict() | {"schema": 0}

    with pytest.raises(OutdatedFitError, match="schema 0"):
        PortfolioFit.from_dict(stored)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"names": ["mu"]}, "this edition needs"),
        ({"mode": [0.0]}, "has 1 parameters"),
        ({"covariance_lower": [1.0]}, "parameters, this edition"),
    ],
)
def test_a_fit_of_other_parameters_is_refused(change, message):
    with pytest.raises(OutdatedFitError, match=message):
        PortfolioFit.from_dict(prior_fit().to_dict() | change)


@pytest.mark.parametrize("key", ["mode", "covariance_lower", "n_tests", "cleanings"])
def test_a_fit_that_lacks_something_is_refused(key):
    stored = {name: value for name, value in prior_fit().to_dict().items() if name != key}

    with pytest.raises(OutdatedFitError, match=f"lacks {key}"):
        PortfolioFit.from_dict(stored)


def test_no_fit_at_all_is_refused():
    with pytest.raises(OutdatedFitError, match="schema None"):
        PortfolioFit.from_dict({})


def test_a_portfolio_without_tests_returns_the_prior():
    for histories in ([], [EMPTY], [SurfaceHistory("picp", Conditions(), (CleaningEvent(1.0, "vacuum"),))]):
        fit = fit_portfolio(histories)

        np.testing.assert_array_equal(fit.mode, prior_fit().mode)
        np.testing.assert_array_equal(fit.covariance, prior_fit().covariance)


BAD = {
    "unknown change of source 'paused'": (SourceEvent(1.0, "paused"),),
    "sort by date": (ring(2.0, 100.0), ring(1.0, 100.0)),
    "0 or more years": (ring(-0.1, 100.0),),
    "got nan": (ring(float("nan"), 100.0),),
    "rate_mm_h must be a number above 0, got 0.0": (ring(1.0, 0.0),),
    "above 0, got inf": (ring(1.0, float("inf")),),
    "at least one test": (RoundEvent(1.0, "ring", ()),),
    "unknown test method 'bucket'": (RoundEvent(1.0, "bucket", (SpotTest(1.0),)),),
    "bound must be": (RoundEvent(1.0, "ring", (SpotTest(1.0, "~"),)),),
    "unknown cleaning method 'hope'": (CleaningEvent(1.0, "hope"),),
    "share of the area must be above 0 and at most 1, got 1.5": (CleaningEvent(1.0, "vacuum", 1.5),),
}


@pytest.mark.parametrize("message", BAD)
def test_what_cannot_be_is_refused_with_the_value(message):
    with pytest.raises(ImpossibleRecordError, match=message):
        forecast_surface(
            SurfaceHistory("picp", Conditions(), BAD[message]), FIT, now_yr=9.0, limit_mm_h=250.0
        )


def test_a_forecast_from_before_the_last_event_is_refused():
    with pytest.raises(ValueError, match=r"starts at or after the last event \(5.5 yr\), got 5.0"):
        forecast_surface(PLAIN, FIT, now_yr=5.0, limit_mm_h=250.0)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"surface_type": "lawn"}, "unknown surface type 'lawn'"),
        ({"conditions": Conditions(run_on_ratio=-1.0)}, "run_on_ratio must be 0 or more, got -1.0"),
        ({"conditions": Conditions(traffic=3)}, "traffic must be 0"),
    ],
)
def test_surfaces_that_cannot_be_are_refused(change, message):
    with pytest.raises(ImpossibleRecordError, match=message):
        fit_portfolio([PLAIN._replace(**change)])
