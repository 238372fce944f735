"""Spots that stand for areas of different size: a round says the areal mean, and scatter is what differs among alike.

Held to the joint normal density of the areal means and of the contrasts among spots of one weight, taken from the
density of all tests by a linear map.
"""

import numpy as np
import pytest
from scipy.linalg import block_diag, helmert
from scipy.stats import multivariate_normal

from clogging.api import forecast_surface, prior_fit
from clogging.blocks import pack
from clogging.filtering import log_likelihood
from clogging.layout import flatten
from clogging.packing import STEP_AT
from clogging.trajectory import last_state, run_surface
from clogging.types import CleaningEvent, Conditions, RoundEvent, SpotTest, SurfaceHistory

from .worlds import DenseWorld, ring, some_params

# One spot at the edge for 9 % of the area, two inside for the rest.
WEIGHTS = np.array([0.09, 0.455, 0.455])
LEVELS = {0.2: (4000.0, 9000.0, 11000.0), 1.4: (1500.0, 6500.0, 7400.0), 3.0: (400.0, 5200.0, 4900.0)}


def weighed(names=(None, None, None)):
    """Three rounds and a cleaning, at spots chosen that day or at named ones."""

    def round_at(t_yr):
        tests = zip(LEVELS[t_yr], names, WEIGHTS, strict=True)
        return RoundEvent(t_yr, "ring", tuple(SpotTest(rate, "=", name, float(w)) for rate, name, w in tests))

    first, second, third = (round_at(t_yr) for t_yr in LEVELS)
    return SurfaceHistory(
        "picp", Conditions(), (first, second, CleaningEvent(2.0, "vacuum", 1.0, False), third)
    )


def loglik(history, params):
    return float(log_likelihood(pack([history])[0], params)[0])


def reduced(per_round):
    """Rows that turn three tests into their areal mean and the contrast between the two inside."""
    contrast = np.concatenate([np.zeros((1, 1)), helmert(2)], axis=1)
    return block_diag(*[np.concatenate([WEIGHTS[None] / WEIGHTS.sum(), contrast])] * per_round)


@pytest.mark.parametrize("names", [(None, None, None), ("edge", "p", "q")], ids=["free", "fixed"])
def test_loglik_differs_between_parameters_as_the_density_of_areal_means_and_contrasts(names):
    history, rows = weighed(names), reduced(3)

    def dense(params):
        world = DenseWorld(history, params)
        mean, cov = world.tests()
        return multivariate_normal(rows @ mean, rows @ cov @ rows.T).logpdf(rows @ np.array(world.values))

    one, other = some_params(1), some_params(2)

    assert loglik(history, one) - loglik(history, other) == pytest.approx(dense(one) - dense(other), rel=1e-9)


def test_the_state_is_that_given_the_areal_means():
    history, params, rows = weighed(), some_params(3), reduced(3)[::2]
    world = DenseWorld(history, params)
    mean, cov = world.moments([row for row, _ in world.rows] + [world.x])
    seen = rows @ cov[:9, :9] @ rows.T
    shift = np.array([by for _, by in world.rows])
    gain = np.linalg.solve(seen, rows @ cov[:9, 9])
    expected = mean[9] + gain @ (rows @ (np.array(world.values) - mean[:9] - shift))

    state = last_state(run_surface(history, params))

    assert state.mean[0, 0] == pytest.approx(expected, rel=1e-9)


def test_equal_weights_of_any_size_are_no_weights():
    plain = SurfaceHistory(
        "picp", Conditions(), (ring(0.5, 5000.0, 7000.0, 2500.0), ring(1.5, 900.0, 1200.0))
    )
    heavy = plain._replace(
        events=tuple(
            event._replace(tests=tuple(test._replace(weight=137.5) for test in event.tests))
            for event in plain.events
        )
    )

    for name in ("y", "inv_n", "df", "ss"):
        rows = [flatten([history]).rows[:, STEP_AT[name]] for history in (plain, heavy)]
        assert rows[1] == pytest.approx(rows[0], rel=1e-12), name


def test_a_sealed_edge_of_a_tenth_of_the_area_weighs_a_tenth():
    def now(weights):
        tests = zip((60.0, 6000.0, 6000.0), weights, strict=True)
        rounds = tuple(
            RoundEvent(t, "ring", tuple(SpotTest(rate, "=", None, w) for rate, w in tests))
            for t, tests in ((1.0, list(tests)),)
        )
        history = SurfaceHistory("picp", Conditions(), rounds)
        return forecast_surface(history, prior_fit(), now_yr=1.0, limit_mm_h=250.0).rate_now_mm_h.median

    assert now((0.09, 0.455, 0.455)) > 1.5 * now((1.0, 1.0, 1.0))
