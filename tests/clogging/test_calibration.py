"""Do the ranges mean what they say, and is the model better than what people do without one?"""

import numpy as np
import pytest

from clogging.calibration_study import rehearse, rehearse_all_kinds
from clogging.parameters import PRIOR_MEAN, to_params
from clogging.scores import NAIVE, coverage, distance_from_uniform, uniform_band

LEVELS = (0.5, 0.8, 0.9, 0.95)


def worst_miss(pits):
    """Greatest distance of a range's coverage from its name, in points."""
    return max(100.0 * abs(coverage(pits, level) - level) for level in LEVELS)


def test_ranges_of_large_portfolios_cover_within_2_points_of_their_name():
    runs = [rehearse(np.random.default_rng([41, i]), 600, types=4) for i in range(6)]

    assert all(run.fit.converged for run in runs)
    assert worst_miss(np.concatenate([run.rate_pits for run in runs])) < 2.0
    assert worst_miss(np.concatenate([run.round_pits for run in runs])) < 2.0


# Portfolios share their parameters' luck, so it takes many of them: about 1 point of chance is left at these numbers.
@pytest.mark.parametrize(("n_surfaces", "n_portfolios"), [(5, 300), (20, 90), (100, 30)])
def test_ranges_of_small_portfolios_cover_within_3_points_of_their_name(n_surfaces, n_portfolios):
    runs = [rehearse(np.random.default_rng([n_surfaces, i]), n_surfaces) for i in range(n_portfolios)]

    assert np.mean([run.fit.converged for run in runs]) > 0.99
    assert worst_miss(np.concatenate([run.rate_pits for run in runs])) < 3.0
    assert worst_miss(np.concatenate([run.round_pits for run in runs])) < 3.0


def test_ranges_hold_with_every_test_method_and_with_inequalities():
    pits = np.concatenate([rehearse_all_kinds(np.random.default_rng([43, i]), 25) for i in range(16)])

    assert round(worst_miss(pits), 6) <= 4.0


def test_a_range_that_ignores_the_portfolio_parameters_doubt_is_too_narrow():
    """The fault that averaging over the portfolio parameters mends: without it small portfolios are overconfident."""
    honest, plugged = [], []
    for i in range(30):
        honest.append(rehearse(np.random.default_rng([5, i]), 5).rate_pits)
        plugged.append(_plugged_in(np.random.default_rng([5, i]), 5))

    assert coverage(np.concatenate(plugged), 0.8) < coverage(np.concatenate(honest), 0.8) - 0.03


def _plugged_in(rng, n_surfaces):
    with pytest.MonkeyPatch.context() as patch:
        one = to_params(np.repeat(PRIOR_MEAN[:, None], 64, axis=1))
        patch.setattr("clogging.fitting.PortfolioFit.draws", one)
        return rehearse(rng, n_surfaces).rate_pits


def test_one_step_ahead_probabilities_of_one_portfolio_lie_in_the_uniform_band():
    run = rehearse(np.random.default_rng(44), 400, types=4)

    assert distance_from_uniform(run.round_pits) < uniform_band(400, 0.99)


def test_the_model_beats_what_people_do_today():
    usual = to_params(PRIOR_MEAN)
    runs = [rehearse(np.random.default_rng([46, i]), 100, params=usual, naive=True) for i in range(4)]

    for scores, sign in (("log_scores", 1.0), ("crps", -1.0)):
        mean = {
            name: np.mean([getattr(run, scores)[name].mean() for run in runs]) for name in ("model", *NAIVE)
        }
        assert all(sign * mean["model"] > sign * mean[rule] for rule in NAIVE)
