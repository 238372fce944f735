"""The day at which the chance of being below the limit reaches a level."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.stats import norm

from clogging.api import forecast_surface, prior_fit
from clogging.forecast import first_reach

from .worlds import BOUNDED, PLAIN, RICH

FIT = prior_fit()
LEVELS = st.floats(0.01, 0.99)
CURVES = st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(0.0, 1.0)), min_size=1, max_size=30).map(
    lambda points: (np.cumsum([step for step, _ in points]), np.array([chance for _, chance in points]))
)


@given(curve=CURVES, level=LEVELS)
def test_the_first_date_is_on_the_curve_and_nothing_before_it_reaches_the_level(curve, level):
    dates, chance = curve

    found = first_reach(dates, chance, level)

    if found is None:
        assert chance.max() < level
    else:
        assert dates[0] <= found <= dates[-1]
        assert (chance[dates < found] < level).all()


@given(curve=CURVES, low=LEVELS, high=LEVELS)
def test_a_higher_level_is_never_reached_earlier(curve, low, high):
    low, high = sorted((low, high))

    early, late = first_reach(*curve, low), first_reach(*curve, high)

    assert late is None or (early is not None and early <= late)


@given(mean=st.floats(1.0, 8.0), sd=st.floats(1.5, 5.0), level=st.floats(0.05, 0.95))
def test_a_chance_that_is_straight_on_the_normal_scale_is_read_exactly_however_wide_the_grid(mean, sd, level):
    """The chance of a first passage at a normal date: its quantile by scipy.stats."""
    dates = np.array([0.0, 3.0, 7.0, 10.0])
    expected = norm.ppf(level, mean, sd)

    found = first_reach(dates, norm.cdf(dates, mean, sd), level)

    if norm.cdf(0.0, mean, sd) >= level:
        assert found == 0.0
    elif expected > 10.0:
        assert found is None
    else:
        assert found == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("history", [PLAIN, RICH, BOUNDED], ids=["plain", "rich", "bounded"])
@pytest.mark.parametrize("level", [0.1, 0.3, 0.5, 0.9])
def test_the_usual_grid_gives_the_day_that_a_much_finer_search_finds(history, level):
    """The search forecasts at the very date, so that no point of a grid lies beside it."""

    def chance_at(t_yr):
        one = forecast_surface(history, FIT, now_yr=6.0, limit_mm_h=150.0, horizon_yr=t_yr - 6.0, n_future=2)
        return one.p_below[-1]

    found = forecast_surface(history, FIT, now_yr=6.0, limit_mm_h=150.0).first_reach_yr(level)

    if found is None:
        assert chance_at(16.0) < level
    elif found == 6.0:
        assert chance_at(6.000001) >= level - 1e-6
    else:
        exact = brentq(lambda t: chance_at(t) - level, 6.000001, 16.0)
        assert found == pytest.approx(exact, abs=1.0 / 365.25)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.1, 1.5, float("nan")])
def test_a_level_that_is_no_chance_is_refused_with_its_value(level):
    seen = forecast_surface(PLAIN, FIT, now_yr=6.0, limit_mm_h=150.0)

    with pytest.raises(ValueError, match=f"above 0 and below 1, got {level}"):
        seen.first_reach_yr(level)
