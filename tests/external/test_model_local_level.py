"""With one surface and no decline the model is the local-level model.

Data: yearly flow of the Nile at Aswan 1871-1970, as shipped in statsmodels. Figures: exact diffuse maximum likelihood,
15 098.5 and 1 469.2, computed with statsmodels for this check; Durbin & Koopman (2012), Time Series Analysis by State
Space Methods, 2nd ed., ch. 2 have 15 099 and 1 469.1 (from memory).
"""

import numpy as np
import pytest
from scipy.optimize import minimize
from statsmodels.datasets import nile

from clogging.api import Conditions, RoundEvent, SpotTest, SurfaceHistory, fit_portfolio
from clogging.blocks import pack
from clogging.coefficients import coefficients
from clogging.filtering import log_likelihood, run_filter
from clogging.fitting import PUBLISHED
from clogging.gradient import filter_gradient, parameter_gradient
from clogging.parameters import PRIOR_MEAN, shape_of_kappa, to_params

UNIT = 1000.0
SHIFT = 5.0  # keeps exp() of the lowest flow above what counts as sealed


def params(reading_var, drift_var):
    p = to_params(PRIOR_MEAN)
    zero = np.zeros(1)
    return p._replace(
        mu_lam=np.zeros_like(p.mu_lam),
        tau_lam=zero,
        tau_b=np.array([100.0]),  # a hundred thousand in the data's unit: as good as diffuse
        kappa=np.zeros_like(p.kappa),
        gamma=zero,
        corr=zero,
        drift_var=np.array([drift_var]) / UNIT**2,
        sd_day=zero,
        sd_spot=np.sqrt([reading_var]) / UNIT,
    )


@pytest.fixture(scope="module")
def history():
    flow = nile.load_pandas().data["volume"].to_numpy() / UNIT
    events = tuple(
        RoundEvent(float(t), "ring", (SpotTest(float(np.exp(v + SHIFT))),)) for t, v in enumerate(flow)
    )
    return SurfaceHistory("picp", Conditions(), events)


@pytest.fixture(scope="module")
def block(history):
    return pack([history])[0]


def test_the_public_fit_gives_the_published_variances(history):
    none, flat = (-40.0, 0.0), 30.0
    beliefs = PUBLISHED.but(
        mu_lam=(0.0, 0.0),
        tau_lam=none,
        gamma=none,
        sd_day=none,
        corr=(0.0, 0.0),
        kappa=(shape_of_kappa(0.0), 0.0),
        kappa_kind=(0.0, 0.0),
        tau_b=(np.log(100.0), 0.0),
        drift_var=(np.log(3e-3), flat),
        sd_spot=(np.log(0.1), flat),
    )

    fit = fit_portfolio([history], beliefs)

    assert fit.converged
    assert UNIT**2 * fit.params.sd_spot[0] ** 2 == pytest.approx(15098.5, rel=3e-3)
    assert UNIT**2 * fit.params.drift_var[0] == pytest.approx(1469.2, rel=3e-3)


def test_most_likely_variances_equal_the_published_ones(block):
    def cost(theta):
        return -float(log_likelihood(block, params(*np.exp(theta)))[0])

    found = minimize(
        cost, np.log([10_000.0, 3_000.0]), method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10}
    )

    assert np.exp(found.x) == pytest.approx([15098.5, 1469.2], rel=1e-4)


def test_the_score_vanishes_at_the_published_variances(block):
    p = params(15098.5, 1469.2)
    c = coefficients(block, p)

    gradient = parameter_gradient(block, p, c, filter_gradient(block, c, run_filter(block, c)))

    assert gradient.sd_spot[0] * p.sd_spot[0] == pytest.approx(0.0, abs=2e-3)
    assert gradient.drift_var[0] * p.drift_var[0] == pytest.approx(0.0, abs=2e-3)
