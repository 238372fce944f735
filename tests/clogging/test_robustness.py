"""Records as they come: contradictory, absurd, one-sided, or hardly any. No crash, no NaN."""

import numpy as np
import pytest

from clogging.api import (
    CLEANING_METHODS,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    RoundEvent,
    SpotTest,
    SurfaceHistory,
    after_cleaning,
    cleaning_shares,
    fit_portfolio,
    forecast_portfolio,
    forecast_surface,
    prior_fit,
)

from .test_api import finite
from .worlds import ring


def bounded(t_yr, rate, bound, n=1):
    return RoundEvent(t_yr, "ring", (SpotTest(rate, bound),) * n)


ODD = {
    "one test": (ring(1.0, 900.0),),
    "one test on the day of opening": (ring(0.0, 9000.0),),
    "absurdly fast": (ring(0.0, 1e12), ring(1.0, 1e15)),
    "absurdly slow": (ring(0.0, 1e-12), ring(1.0, 1e-15)),
    "from absurdly fast to absurdly slow": (ring(0.0, 1e12), ring(0.001, 1e-12), ring(0.002, 1e12)),
    "all too fast to measure": tuple(bounded(t, 20_000.0, ">", 3) for t in range(6)),
    "all still ponded": tuple(bounded(t, 5.0, "<", 3) for t in range(6)),
    "bounds that contradict each other": (bounded(1.0, 1e5, ">", 4), bounded(1.0, 1.0, "<", 4)),
    "bounds far beyond belief": (bounded(1.0, 1e200, ">"), bounded(2.0, 1e-200, "<")),
    "thirty cleanings and no test": tuple(
        CleaningEvent(0.3 * i, CLEANING_METHODS[i % 8], 0.5) for i in range(30)
    ),
    "everything on one day": (
        *(ring(2.0, 500.0 + i) for i in range(5)),
        *(CleaningEvent(2.0, m) for m in CLEANING_METHODS),
        *(ring(2.0, 900.0 + i) for i in range(5)),
    ),
    "a century": tuple(ring(float(t), 4000.0 * 0.97**t) for t in range(101)),
    "wet sweeping again and again": tuple(
        e
        for t in range(1, 13)
        for e in (CleaningEvent(float(t), "regen_air", 1.0, True), ring(float(t), 500.0))
    ),
    "every method at every spot": tuple(
        RoundEvent(float(t), method, tuple(SpotTest(900.0 + t, "=", f"spot {i}") for i in range(6)))
        for t, method in enumerate(TEST_METHODS)
    ),
}


@pytest.mark.parametrize("story", ODD)
@pytest.mark.parametrize("fitted", [False, True], ids=["prior", "fitted"])
def test_odd_records_give_finite_results(story, fitted):
    history = SurfaceHistory("picp", Conditions(50.0, True, True, True, 2), ODD[story])
    fit = fit_portfolio([history]) if fitted else prior_fit()
    now = history.events[-1].t_yr

    seen = forecast_surface(history, fit, now_yr=now, limit_mm_h=250.0)
    outlook = after_cleaning(history, fit, at_yr=now, method="vacuum", limit_mm_h=250.0)

    assert finite(seen)
    assert finite(outlook)
    assert 0.0 <= seen.p_below_now <= 1.0
    assert 0.0 <= outlook.p_stays_above <= 1.0
    assert 0.0 <= seen.decline_percentile <= 1.0


def test_a_portfolio_of_nothing_but_odd_records_still_fits():
    histories = [
        SurfaceHistory(SURFACE_TYPES[i % 9], Conditions(), events) for i, events in enumerate(ODD.values())
    ]

    fit = fit_portfolio(histories)

    assert fit.n_surfaces == len(ODD)
    assert np.isfinite(fit.mode).all()
    assert (np.linalg.eigvalsh(fit.covariance) > -1e-12).all()
    assert finite(cleaning_shares(fit))
    now = [h.events[-1].t_yr for h in histories]
    assert finite(forecast_portfolio(histories, fit, now_yr=now, limit_mm_h=[250.0] * len(now)))


def test_rates_too_fast_to_measure_raise_the_estimate_and_never_lower_it():
    without = forecast_surface(
        SurfaceHistory("clay", Conditions()), prior_fit(), now_yr=1.0, limit_mm_h=250.0
    )
    history = SurfaceHistory("clay", Conditions(), (bounded(1.0, 20_000.0, ">"),))

    seen = forecast_surface(history, prior_fit(), now_yr=1.0, limit_mm_h=250.0)

    assert seen.rate_now_mm_h.median > 1.5 * without.rate_now_mm_h.median


def test_a_bound_narrows_less_than_a_reading_of_the_same_value():
    def width(test):
        history = SurfaceHistory("picp", Conditions(), (RoundEvent(1.0, "ring", (test,)),))
        rate = forecast_surface(history, prior_fit(), now_yr=1.0, limit_mm_h=250.0).rate_now_mm_h
        return np.log(rate.hi95 / rate.lo95)

    assert width(SpotTest(9000.0)) < width(SpotTest(9000.0, ">")) < width(SpotTest(1e-9, ">"))


def test_a_doubted_method_narrows_less_than_the_ring():
    def width(method, rate):
        history = SurfaceHistory(
            "picp", Conditions(), tuple(ring(1.0 + t, rate, method=method) for t in range(4))
        )
        now = forecast_surface(history, prior_fit(), now_yr=4.0, limit_mm_h=250.0).rate_now_mm_h
        return np.log(now.hi95 / now.lo95)

    assert width("falling_head", 16_000.0) > width("frame", 4_000.0) > width("ring", 4_000.0)


def test_a_falling_head_reading_counts_for_about_a_quarter_of_itself():
    def median(method, rate):
        history = SurfaceHistory("picp", Conditions(), (ring(1.0, *(5 * [rate]), method=method),))
        return forecast_surface(history, prior_fit(), now_yr=1.0, limit_mm_h=250.0).rate_now_mm_h.median

    by_ring, by_falling_head = median("ring", 9000.0), median("falling_head", 9000.0 * np.exp(1.45))

    assert by_falling_head == pytest.approx(by_ring, rel=0.1)


def test_after_a_reading_far_above_all_others_no_range_rises_without_end():
    """A kappa below 0 speeds up a loss; by the same equation it would lift such a surface for ever."""
    history = SurfaceHistory("picp", Conditions(), (ring(0.1, 1000.0), ring(1.0, 50_000.0)))

    ahead = forecast_surface(history, prior_fit(), now_yr=1.0, limit_mm_h=250.0).future

    assert ahead.hi95.max() < 3.0 * ahead.hi95[0]
    assert (np.diff(ahead.median) <= 0.0).all()


def test_a_single_surface_and_the_portfolio_agree_on_a_far_reading():
    history = SurfaceHistory("picp", Conditions(), (ring(0.1, 1000.0), ring(1.0, 50_000.0)))
    fit = prior_fit()

    one = forecast_surface(history, fit, now_yr=1.0, limit_mm_h=250.0, horizon_yr=8.0, n_future=2)
    board = forecast_portfolio([history], fit, now_yr=[1.0], limit_mm_h=[250.0], ahead_yr=(0.0, 8.0))

    assert board.hi95[:, 0] == pytest.approx(one.future.hi95, rel=1e-9)
    assert board.p_below[:, 0] == pytest.approx(one.p_below, abs=1e-12)
