"""The filter against the state-space filter of statsmodels, an independent general-purpose program.

Source: statsmodels 0.15, tsa.statespace.kalman_filter.KalmanFilter (Seabold & Perktold 2010, Proc. 9th Python in
Science Conf.; filter after Durbin & Koopman 2012). The matrices below are written from the model's statement.
"""

import numpy as np
import pytest
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

from clogging.blocks import pack
from clogging.filtering import log_likelihood, within_loglik
from clogging.priors import CLOCK_REFERENCE_YR
from clogging.simulate import draw_params, draw_plan, simulate, to_histories
from clogging.types import CLEANING_METHODS, SURFACE_TYPES, CleaningEvent
from tests.clogging.worlds import PLAIN, some_params


def statsmodels_loglik(history, p):
    """Round means of ring tests as a time-varying state space of (x, b, lam), one period an event."""
    events = history.events
    n = len(events)
    kf = KalmanFilter(k_endog=1, k_states=3)
    kf.initialize_known(*_start(history, p))
    design, transition = np.zeros((1, 3, n)), np.zeros((3, 3, n))
    state_cov, obs_cov = np.zeros((3, 3, n)), np.ones((1, 1, n))
    y = np.full((1, n), np.nan)
    design[0, 0] = 1.0
    for i, event in enumerate(events):
        if not isinstance(event, CleaningEvent):
            logs = np.log([test.rate_mm_h for test in event.tests])
            y[0, i] = logs.mean()
            obs_cov[0, 0, i] = p.sd_day[0] ** 2 + p.sd_spot[0] ** 2 / len(logs)
        if i + 1 < n:
            transition[:, :, i], state_cov[0, 0, i] = _move(event.t_yr, events[i + 1], p)
    kf.bind(y)
    kf["design"], kf["transition"], kf["obs_cov"] = design, transition, obs_cov
    kf["selection"], kf["state_cov"] = np.eye(3), state_cov
    kf.loglikelihood_burn = 0
    return kf.loglike()


def _clock(t, p):
    return CLOCK_REFERENCE_YR * (t / CLOCK_REFERENCE_YR) ** p.clock[0]


def _move(t_yr, following, p):
    """Transition matrix and process variance from one event to just after the following one."""
    gap, run = following.t_yr - t_yr, _clock(following.t_yr, p) - _clock(t_yr, p)
    k, scatter = 0.0, 0.0
    if isinstance(following, CleaningEvent):
        m = CLEANING_METHODS.index(following.method)
        k = following.share * (p.rho[m, 0] - following.wet * p.wet[m, 0])
        scatter = following.share * p.sd_clean[m, 0] ** 2
    matrix = np.eye(3)
    matrix[0] = [1.0 - k, k, -(1.0 - k) * run]
    return matrix, (1.0 - k) ** 2 * p.drift_var[0] * gap + scatter


def _start(history, p):
    """State at the first event."""
    kind, c = SURFACE_TYPES.index(history.surface_type), history.conditions
    z = np.array([c.run_on_ratio, c.bare_soil, c.trees, c.winter_grit, c.traffic], dtype=float)
    mean = np.array([p.mu_b[kind, 0]] * 2 + [p.mu_lam[kind, 0] + p.beta[:, 0] @ z])
    cov = np.zeros((3, 3))
    cov[:2, :2], cov[2, 2] = p.tau_b[0] ** 2, p.tau_lam[0] ** 2
    opening = CleaningEvent(0.0, "broom", 1.0, False)
    matrix, noise = _move(opening.t_yr, history.events[0], p)
    cov = matrix @ cov @ matrix.T
    cov[0, 0] += noise
    return matrix @ mean, cov


def ours(histories, params):
    """Log-likelihood of the round means alone, which is what the other program sees."""
    out = np.empty(len(histories))
    for block in pack(histories):
        out[block.surfaces] = log_likelihood(block, params) - within_loglik(block, params)
    return out


@pytest.mark.parametrize("seed", [1, 2])
def test_loglik_of_a_simulated_portfolio_equals_statsmodels(seed):
    rng = np.random.default_rng(seed)
    plan = draw_plan(rng, 30, 10)
    plan = plan._replace(method=np.zeros_like(plan.method))
    params = draw_params(rng)
    histories = to_histories(simulate(rng, plan, params))

    expected = [statsmodels_loglik(history, params) for history in histories]

    np.testing.assert_allclose(ours(histories, params), expected, rtol=1e-9, atol=1e-11)


def test_loglik_of_a_handwritten_history_equals_statsmodels():
    params = some_params(21)
    history = PLAIN._replace(events=tuple(e for e in PLAIN.events if getattr(e, "method", "") != "frame"))

    assert ours([history], params)[0] == pytest.approx(statsmodels_loglik(history, params), rel=1e-9)
