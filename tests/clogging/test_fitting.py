"""The fit finds what was put in, says how sure it is, and says when it failed."""

import numpy as np
import pytest
import scipy

from clogging import fitting
from clogging.api import fit_portfolio, forecast_portfolio, forecast_surface, prior_fit
from clogging.blocks import build_blocks
from clogging.calibration_study import ring_only
from clogging.fitting import fit_table, likelihood_curvature
from clogging.gradient import portfolio_loglik_gradient
from clogging.layout import flatten
from clogging.packing import STEP_AT
from clogging.parameters import INDEX, NAMES, PRIOR_MEAN, PRIOR_SD, to_params
from clogging.simulate import draw_plan, simulate, to_histories, to_table
from clogging.types import CLEANING_METHODS

from .worlds import BOUNDED, EMPTY, PLAIN, RICH, some_vector

TRUTH = some_vector(31, 1.0)


def world(seed, n_surfaces, n_events=8, types=3):
    rng = np.random.default_rng(seed)
    return simulate(rng, ring_only(draw_plan(rng, n_surfaces, n_events, types)), to_params(TRUTH))


def test_five_hundred_surfaces_recover_the_parameters_within_their_errors():
    fit = fit_table(to_table(world(1, 500)))

    away = (fit.mode - TRUTH) / np.sqrt(np.diag(fit.covariance))
    assert fit.converged
    assert np.sqrt(np.mean(away**2)) < 1.3
    assert np.abs(away).max() < 3.5


def test_errors_shrink_with_the_portfolio():
    names = ["tau_b", "tau_lam", "drift_var", "sd_day", "sd_spot", "rho:vacuum", "kappa"]
    at = [INDEX[name] for name in names]
    errors = [np.sqrt(np.diag(fit_table(to_table(world(2, n))).covariance))[at] for n in (10, 100, 1000)]

    # A hundred surfaces say that the variance is small, and the log of what is nearly nothing stays in doubt.
    lasting = [name != "drift_var" for name in names]
    assert (errors[1] < errors[0])[lasting].all()
    assert (errors[2] < errors[1]).all()
    assert (errors[2] < 0.7 * PRIOR_SD[at]).all()


def test_what_the_data_are_silent_about_keeps_its_prior():
    fit = fit_table(to_table(world(3, 200)))

    for name in ("rho:mill", "wet:rejoint_resin", "offset:frame", "location_share"):
        at = INDEX[name]
        assert fit.mode[at] == pytest.approx(PRIOR_MEAN[at], abs=1e-3 * PRIOR_SD[at])
        assert fit.covariance[at, at] ** 0.5 == pytest.approx(PRIOR_SD[at], rel=1e-6)


def test_the_gradient_of_the_posterior_vanishes_at_the_fit():
    histories = [PLAIN, RICH, BOUNDED, EMPTY, *to_histories(world(4, 30))]

    fit = fit_portfolio(histories)

    _, gradient = portfolio_loglik_gradient(fitting.build_blocks(fitting.flatten(histories)), fit.mode)
    in_prior_sds = PRIOR_SD * gradient[:, 0] - (fit.mode - PRIOR_MEAN) / PRIOR_SD
    in_posterior_sds = in_prior_sds * np.sqrt(np.diag(fit.covariance)) / PRIOR_SD
    assert np.abs(in_posterior_sds).max() < 0.02


def test_covariance_is_the_inverse_curvature_where_the_data_speak():
    table = to_table(world(8, 600))

    fit = fit_table(table)

    u = (fit.mode - PRIOR_MEAN) / PRIOR_SD
    curvature = np.eye(u.size) + likelihood_curvature(build_blocks(table), u)
    sd = np.sqrt(np.diag(fit.covariance))
    correlation, unit = fit.covariance / np.outer(sd, sd), sd / PRIOR_SD
    np.testing.assert_allclose(correlation @ (curvature * np.outer(unit, unit)), np.eye(u.size), atol=0.05)


def test_a_sample_of_the_curvature_gives_the_same_fit_as_all_of_it(monkeypatch):
    """A few surfaces may hold most of what is known of a method: its sd alone may be off by more than all of them."""
    table = to_table(world(6, 900))
    whole = fit_table(table)
    monkeypatch.setattr(fitting, "CURVATURE_SAMPLE", 450)

    sampled = fit_table(table)

    sd = np.sqrt(np.diag(whole.covariance))
    assert np.abs((sampled.mode - whole.mode) / sd).max() < 0.1
    off = np.log(np.sqrt(np.diag(sampled.covariance)) / sd)
    assert np.sqrt((off**2).mean()) < 0.3
    assert np.median(np.abs(off)) < 0.1


def test_a_sample_holds_its_share_of_what_is_rare_whatever_the_order_they_come_in():
    """Every fourth of copies, one after the other, would else be the same few surfaces again and again."""
    few = to_histories(world(5, 60))
    order = fitting._in_order(flatten(few * 40))

    chosen, weight = fitting._sample(order, 600)

    methods = cleaned_by(flatten(few))
    expected, found = methods.sum(0) * 40 / weight, methods[chosen % 60].sum(0)
    assert np.abs(found - expected).max() <= 0.25 * expected.max()
    assert np.unique(chosen % 60).size == 60


def cleaned_by(table):
    """(S, methods) whether a surface was cleaned by it."""
    surface = np.repeat(np.arange(table.surface_type.size), np.diff(table.first))
    method = table.rows[:, STEP_AT["cleaning"]].astype(int)
    by = np.zeros((table.surface_type.size, len(CLEANING_METHODS)), bool)
    by[surface[method >= 0], method[method >= 0]] = True
    return by


def test_a_fit_that_stops_early_says_so(monkeypatch):
    def stop(*args, **kwargs):
        kwargs["options"] = kwargs["options"] | {"maxiter": 1}
        return minimize(*args, **kwargs)

    minimize = scipy.optimize.minimize
    monkeypatch.setattr(scipy.optimize, "minimize", stop)
    monkeypatch.setattr(fitting, "_MOST_ROUNDS", 0)

    fit = fit_table(to_table(world(7, 60)))

    assert not fit.converged
    assert "ITERATIONS" in fit.message.upper()


def test_order_of_the_surfaces_does_not_matter():
    histories = to_histories(world(8, 25))

    forward, backward = fit_portfolio(histories), fit_portfolio(histories[::-1])

    np.testing.assert_allclose(forward.mode, backward.mode, atol=1e-5)


def test_draws_have_the_mean_and_spread_of_the_fit():
    fit = fit_table(to_table(world(9, 50)))

    vectors = fitting.draw_vectors(fit, 4096)

    sd = np.sqrt(np.diag(fit.covariance))
    np.testing.assert_allclose(vectors.mean(1), fit.mode, atol=1e-9)
    np.testing.assert_allclose(vectors.std(1), sd, rtol=0.05)


def test_counts_are_of_tests_and_of_cleanings_with_tests_on_both_sides():
    cleaned_last = RICH._replace(events=RICH.events[:3])
    fit = fit_portfolio([PLAIN, RICH, EMPTY, cleaned_last])

    assert (fit.n_surfaces, fit.n_tests) == (4, 12 + 12 + 5)
    assert {name: n for name, n in fit.cleanings.items() if n} == {
        "vacuum": 1,
        "regen_air": 1,
        "wash_vacuum": 1,
    }


def test_the_portfolio_at_once_equals_each_surface_alone():
    histories = [PLAIN, RICH, BOUNDED, EMPTY]
    fit = prior_fit()

    board = forecast_portfolio(histories, fit, now_yr=[6.0] * 4, limit_mm_h=[250.0] * 4, ahead_yr=(0.0, 5.0))

    for i, history in enumerate(histories):
        alone = forecast_surface(history, fit, now_yr=6.0, limit_mm_h=250.0, n_future=3)
        assert board.p_below[:, i] == pytest.approx(alone.p_below[:2], rel=1e-9)
        assert board.median[:, i] == pytest.approx(
            alone.future.median[:2], rel=2e-5
        )  # as close as quantiles are
        assert board.lo95[:, i] == pytest.approx(alone.future.lo95[:2], rel=1e-6)


def test_the_portfolio_at_once_refuses_a_date_before_the_last_event():
    with pytest.raises(ValueError, match=r"Surface 1: now_yr 5.0 lies before its last event at 5.5 yr"):
        forecast_portfolio([EMPTY, PLAIN], prior_fit(), now_yr=[5.0, 5.0], limit_mm_h=[250.0, 250.0])


def test_every_entry_of_the_vector_has_its_own_name():
    assert len(set(NAMES)) == len(NAMES) == PRIOR_MEAN.size
