"""The filter against the state-space filter of statsmodels, an independent general-purpose program.

Source: statsmodels 0.15, tsa.statespace.kalman_filter.KalmanFilter (Seabold & Perktold 2010, Proc. 9th Python in
Science Conf.; filter after Durbin & Koopman 2012). The matrices below are written from the model's statement.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.linalg import expm
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

from clogging.blocks import build_blocks
from clogging.filtering import log_likelihood, within_loglik
from clogging.layout import flatten
from clogging.simulate import draw_params, draw_plan, simulate, to_histories, to_table
from clogging.types import (
    CLEANING_METHODS,
    RENEWING_METHODS,
    SOURCE_CHANGES,
    SURFACE_TYPES,
    CleaningEvent,
    RoundEvent,
    SourceEvent,
)
from tests.clogging.worlds import CHANGED, PLAIN, some_params


def statsmodels_loglik(history, p):
    """Round means of ring tests as a time-varying state space of (x, b, lam), one period an event."""
    events = history.events
    n = len(events)
    kf = KalmanFilter(k_endog=1, k_states=3)
    kf.initialize_known(*_start(history, p))
    design, transition = np.zeros((1, 3, n)), np.zeros((3, 3, n))
    state_cov, obs_cov = np.zeros((3, 3, n)), np.ones((1, 1, n))
    intercept, y = np.zeros((3, n)), np.full((1, n), np.nan)
    design[0, 0] = 1.0
    kind = SURFACE_TYPES.index(history.surface_type)
    for i, event in enumerate(events):
        if isinstance(event, RoundEvent):
            logs = np.log([test.rate_mm_h for test in event.tests])
            y[0, i] = logs.mean()
            obs_cov[0, 0, i] = p.sd_day[0] ** 2 + p.sd_spot[0] ** 2 / len(logs)
        if i + 1 < n:
            moved = _move(event.t_yr, events[i + 1], p, kind)
            transition[:, :, i], intercept[:, i], state_cov[:, :, i] = moved
    kf.bind(y)
    kf["design"], kf["transition"], kf["obs_cov"] = design, transition, obs_cov
    kf["selection"], kf["state_cov"], kf["state_intercept"] = np.eye(3), state_cov, intercept
    kf.loglikelihood_burn = 0
    return kf.loglike()


def _move(t_yr, following, p, kind):
    """Transition, intercept and covariance from one event to just after the following one."""
    gap, kappa = following.t_yr - t_yr, p.kappa[kind, 0]
    rates = np.array([[-kappa, kappa, -1.0], [0.0, 0.0, -p.gamma[0]], [0.0, 0.0, 0.0]])
    noise = p.drift_var[0] * quad(lambda s: np.exp(-2.0 * kappa * s), 0.0, gap, epsabs=1e-15)[0]
    jump, shift, scatter = _jump(following, p, kind)
    return jump @ expm(rates * gap), shift, jump @ np.diag([noise, 0.0, 0.0]) @ jump.T + scatter


def _jump(event, p, kind):
    """What the event itself does to (x, b, lam): matrix, shift and covariance."""
    jump, shift, scatter = np.eye(3), np.zeros(3), np.zeros((3, 3))
    if isinstance(event, CleaningEvent):
        m = CLEANING_METHODS.index(event.method)
        k = event.share * (p.rho[m, 0] - event.wet * p.wet[m, 0])
        scatter[0, 0] = event.share * p.sd_clean[m, 0] ** 2
        jump[0, :2] = 1.0 - k, k
        if event.method in RENEWING_METHODS:
            pull = np.array([k, event.share, 0.0])
            jump, shift = np.diag(1.0 - pull), pull * p.mu_b[kind, 0]
            scatter += np.outer(pull, pull) * p.tau_b[0] ** 2
    if isinstance(event, SourceEvent):
        at = SOURCE_CHANGES.index(event.kind)
        jump[2, 2], scatter[2, 2] = p.source_factor[at, 0], p.sd_source[at, 0] ** 2
    return jump, shift, scatter


def _start(history, p):
    """State just after the first event."""
    kind, c = SURFACE_TYPES.index(history.surface_type), history.conditions
    z = np.array([c.run_on_ratio, c.bare_soil, c.trees, c.winter_grit, c.traffic], dtype=float)
    mean = np.array([p.mu_b[kind, 0]] * 2 + [p.mu_lam[kind, 0] + p.beta[:, 0] @ z])
    cov = np.zeros((3, 3))
    cov[:2, :2], cov[2, 2] = p.tau_b[0] ** 2, p.tau_lam[0] ** 2
    cov[:2, 2] = cov[2, :2] = p.corr[0] * p.tau_b[0] * p.tau_lam[0]
    matrix, shift, noise = _move(0.0, history.events[0], p, kind)
    return matrix @ mean + shift, matrix @ cov @ matrix.T + noise


def ours(table, params):
    """Log-likelihood of the round means alone, which is what the other program sees."""
    out = np.empty(table.surface_type.size)
    for block in build_blocks(table):
        out[block.surfaces] = log_likelihood(block, params) - within_loglik(block, params)
    return out


@pytest.mark.parametrize("seed", [1, 2])
def test_loglik_of_a_simulated_portfolio_equals_statsmodels(seed):
    rng = np.random.default_rng(seed)
    plan = draw_plan(rng, 30, 10)
    plan = plan._replace(method=np.zeros_like(plan.method))
    params = draw_params(rng)
    world = simulate(rng, plan, params)

    expected = [statsmodels_loglik(history, params) for history in to_histories(world)]

    np.testing.assert_allclose(ours(to_table(world), params), expected, rtol=1e-9, atol=1e-11)


@pytest.mark.parametrize("whole", [PLAIN, CHANGED], ids=["cleaned", "renewed and changed"])
def test_loglik_of_a_handwritten_history_equals_statsmodels(whole):
    params = some_params(21)
    history = whole._replace(events=tuple(e for e in whole.events if getattr(e, "method", "") != "frame"))

    assert ours(flatten([history]), params)[0] == pytest.approx(statsmodels_loglik(history, params), rel=1e-9)
