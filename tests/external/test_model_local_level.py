"""With one surface and no decline the model is the local-level model.

Data: yearly flow of the Nile at Aswan 1871-1970, as shipped in statsmodels. Figures: exact diffuse maximum likelihood,
15 098.5 and 1 469.2, computed with statsmodels for this check; Durbin & Koopman (2012), Time Series Analysis by State
Space Methods, 2nd ed., ch. 2 have 15 099 and 1 469.1 (from memory).
"""

import numpy as np
import pytest
from scipy.optimize import minimize
from statsmodels.datasets import nile

from clogging.blocks import pack
from clogging.filtering import coefficients, log_likelihood
from clogging.gradient import filter_gradient, parameter_gradient, run_filter
from clogging.parameters import PRIOR_MEAN, to_params
from clogging.types import Conditions, RoundEvent, SpotTest, SurfaceHistory

UNIT = 1000.0


def params(reading_var, drift_var):
    p = to_params(PRIOR_MEAN)
    zero = np.zeros(1)
    return p._replace(
        mu_lam=np.zeros_like(p.mu_lam),
        tau_lam=zero,
        tau_b=np.array([100.0]),  # a hundred thousand in the data's unit: as good as diffuse
        drift_var=np.array([drift_var]) / UNIT**2,
        sd_day=zero,
        sd_spot=np.sqrt([reading_var]) / UNIT,
    )


@pytest.fixture(scope="module")
def block():
    flow = nile.load_pandas().data["volume"].to_numpy() / UNIT
    events = tuple(RoundEvent(float(t), "ring", (SpotTest(float(np.exp(v))),)) for t, v in enumerate(flow))
    return pack([SurfaceHistory("picp", Conditions(), events)])[0]


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
