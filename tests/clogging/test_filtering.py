"""The filter against the joint normal density of all tests, and the invariances it must keep."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from clogging.blocks import pack, tile
from clogging.coefficients import coefficients
from clogging.filtering import log_likelihood, run_filter, truncated
from clogging.hindcast import cleaning_jumps
from clogging.parameters import to_params
from clogging.trajectory import last_state, log_rate_behind, run_surface, smooth_run
from clogging.types import CleaningEvent, Conditions, RoundEvent, SpotTest, SurfaceHistory

from .worlds import (
    BOUNDED,
    CHANGED,
    EMPTY,
    PLAIN,
    RICH,
    SPOTS,
    DenseWorld,
    fixed,
    ring,
    some_params,
    some_vector,
)


def loglik(history, params):
    return float(log_likelihood(pack([history])[0], params)[0])


@pytest.mark.parametrize("history", [PLAIN, RICH, SPOTS, CHANGED], ids=["plain", "rich", "spots", "changed"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_loglik_equals_the_joint_normal_density_of_all_tests(history, seed):
    params = some_params(seed)
    world = DenseWorld(history, params)
    mean, cov = world.tests()

    assert loglik(history, params) == pytest.approx(
        multivariate_normal(mean, cov).logpdf(world.values), rel=1e-9
    )


@pytest.mark.parametrize("history", [PLAIN, RICH, SPOTS, CHANGED], ids=["plain", "rich", "spots", "changed"])
def test_last_state_equals_the_conditional_normal(history):
    params = some_params(4)
    world = DenseWorld(history, params)
    mean, cov = world.given_tests([world.x, world.b, world.lam])

    state = last_state(run_surface(history, params))

    np.testing.assert_allclose(state.mean[:, 0], mean, rtol=1e-9)
    np.testing.assert_allclose(state.cov[:, :, 0], cov, rtol=1e-8, atol=1e-12)


@pytest.mark.parametrize("history", [PLAIN, RICH, SPOTS, CHANGED], ids=["plain", "rich", "spots", "changed"])
def test_smoothed_rates_on_both_sides_of_every_event_equal_the_conditional_normal(history):
    params = some_params(5)
    world = DenseWorld(history, params)
    mean, cov = world.given_tests([row for pair in world.x_rows for row in pair])
    run = run_surface(history, params)
    at = [int(np.flatnonzero(run.block.event[:, 0] == i)[0]) for i in range(len(history.events))]
    done = np.array([j for step in at for j in (step, step + 1)])
    dates = np.repeat([event.t_yr for event in history.events], 2)

    smoothed_mean, smoothed_sd = log_rate_behind(run, smooth_run(run), dates, done)

    np.testing.assert_allclose(smoothed_mean[:, 0], mean, rtol=1e-9)
    np.testing.assert_allclose(smoothed_sd[:, 0] ** 2, np.diag(cov), rtol=1e-7)


@pytest.mark.parametrize(
    ("history", "event"),
    [(PLAIN, 3), (PLAIN, 6), (RICH, 2), (SPOTS, 3), (CHANGED, 2), (CHANGED, 7), (CHANGED, 9)],
)
def test_jump_at_a_cleaning_equals_the_conditional_normal(history, event):
    params = some_params(6)
    world = DenseWorld(history, params)
    before, after = world.x_rows[event]
    change = {key: after.get(key, 0.0) - before.get(key, 0.0) for key in {*after, *before}}
    mean, cov = world.given_tests([change])
    run = run_surface(history, params)
    cleaned = run.block.event[run.block.cleaning[:, 0] >= 0, 0]

    jump, sd = (part[cleaned == event][0] for part in cleaning_jumps(run, smooth_run(run)))

    assert jump[0] == pytest.approx(mean[0], rel=1e-8)
    assert sd[0] ** 2 == pytest.approx(cov[0, 0], rel=1e-8)


def test_one_day_by_another_method_at_fixed_locations_shares_one_offset():
    params = some_params(6)
    history = SurfaceHistory(
        "picp", Conditions(), (fixed(1.0, a=900.0, b=700.0), fixed(2.0, method="flooding", a=300.0, b=500.0))
    )
    world = DenseWorld(history, params)
    mean, cov = world.tests()

    assert loglik(history, params) == pytest.approx(
        multivariate_normal(mean, cov).logpdf(world.values), rel=1e-9
    )


def test_single_bound_equals_the_normal_probability():
    params = some_params(7)
    history = SurfaceHistory("clay", Conditions(), (RoundEvent(2.0, "ring", (SpotTest(900.0, "<"),)),))
    world = DenseWorld(history, params)
    mean, cov = world.tests()

    expected = norm(mean[0], np.sqrt(cov[0, 0])).logcdf(np.log(900.0))

    assert loglik(history, params) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize(("first", "second"), [("<", "<"), (">", ">"), ("<", ">")])
def test_two_bounds_come_near_the_exact_probability_of_both(first, second):
    """Matching moments is an approximation from the second bound on; this is how good it is."""
    params = some_params(7)
    tests = (SpotTest(3000.0, first), SpotTest(2500.0, second))
    history = SurfaceHistory("clay", Conditions(), (RoundEvent(2.0, "ring", tests),))
    world = DenseWorld(history, params)
    mean, cov = world.tests()
    signs = np.array([1.0 if bound == "<" else -1.0 for bound in (first, second)])
    away = signs * (np.array(world.values) - mean)

    exact = multivariate_normal(np.zeros(2), cov * np.outer(signs, signs)).cdf(away)

    assert loglik(history, params) == pytest.approx(np.log(exact), abs=0.02)


def test_truncated_moments_equal_numerical_integration():
    alpha = np.array([-3.0, -0.5, 0.0, 2.0])
    u = np.linspace(-14.0, 0.0, 400_001)

    hazard, missing = truncated(alpha)

    for a, h, w in zip(alpha, hazard, missing, strict=True):
        density = norm.pdf(u + a) / norm.cdf(a)
        mean = np.trapezoid((u + a) * density, u)
        var = np.trapezoid((u + a - mean) ** 2 * density, u)
        assert -h == pytest.approx(mean, rel=1e-8)
        assert 1.0 - w == pytest.approx(var, rel=1e-7)


def test_truncated_stays_finite_far_in_both_tails():
    hazard, missing = truncated(np.array([-1e8, -40.0, 40.0, 1e8]))

    assert np.isfinite(hazard).all()
    assert missing == pytest.approx([1.0, 1.0, 0.0, 0.0], abs=1e-3)


def test_many_surfaces_at_once_equal_each_alone():
    params = some_params(8)
    histories = [
        PLAIN,
        RICH,
        BOUNDED,
        SPOTS,
        CHANGED,
        EMPTY,
        PLAIN._replace(surface_type="clay"),
        RICH._replace(events=RICH.events[:3]),
    ]
    alone = [loglik(history, params) for history in histories]

    together = np.empty(len(histories))
    for block in pack(histories):
        together[block.surfaces] = log_likelihood(block, params)

    np.testing.assert_allclose(together, alone, rtol=1e-12)


def test_parameter_sets_side_by_side_equal_each_alone():
    vectors = np.stack([some_vector(seed) for seed in (1, 2, 3)], axis=1)
    block = pack([RICH, RICH])[0]

    together = log_likelihood(tile(block, 3), to_params(vectors))

    alone = np.concatenate([log_likelihood(block, to_params(vectors[:, i])) for i in range(3)])
    np.testing.assert_allclose(together, alone, rtol=1e-12)


def test_order_of_tests_and_of_rounds_on_one_day_changes_nothing():
    params = some_params(9)
    tests = (SpotTest(3000.0), SpotTest(9000.0, ">"), SpotTest(50.0, "<"), SpotTest(700.0, "=", "a"))
    other = (RoundEvent(2.0, "frame", (SpotTest(800.0), SpotTest(90.0, "<"))), RoundEvent(2.0, "ring", tests))
    first = SurfaceHistory("clay", Conditions(), (ring(1.0, 5000.0), *other))
    second = first._replace(events=(first.events[0], RoundEvent(2.0, "ring", tests[::-1]), other[0]))

    assert loglik(first, params) == pytest.approx(loglik(second, params), rel=1e-12)


def test_splitting_a_gap_in_two_changes_nothing():
    params = some_params(10)
    block = pack([PLAIN])[0]
    # A cleaning of no share by a method of no scatter is a step that only passes time.
    params = params._replace(
        sd_clean=np.zeros_like(params.sd_clean), rho=params.rho * 0.0, wet=params.wet * 0.0
    )
    events = tuple(event for event in PLAIN.events if isinstance(event, RoundEvent))
    whole = SurfaceHistory("picp", PLAIN.conditions, events)
    cut = SurfaceHistory("picp", PLAIN.conditions, (*events[:2], CleaningEvent(1.9, "broom"), *events[2:]))

    assert block.n_columns == 1
    assert loglik(cut, params) == pytest.approx(loglik(whole, params), rel=1e-12)
    np.testing.assert_allclose(
        last_state(run_surface(cut, params)).cov, last_state(run_surface(whole, params)).cov, rtol=1e-10
    )


def test_a_surface_without_tests_returns_its_prior():
    params = some_params(11)

    state = last_state(run_surface(EMPTY, params))

    assert loglik(EMPTY, params) == 0.0
    assert state.mean[0, 0] == state.mean[1, 0] == params.mu_b[8, 0]
    assert state.cov[2, 2, 0] == pytest.approx(params.tau_lam[0] ** 2)


def test_another_unit_of_rate_shifts_both_levels_alone():
    params = some_params(12)
    factor = 25.4
    shifted = params._replace(mu_b=params.mu_b + np.log(factor))
    events = tuple(
        e._replace(tests=tuple(t._replace(rate_mm_h=t.rate_mm_h * factor) for t in e.tests))
        if isinstance(e, RoundEvent)
        else e
        for e in RICH.events
    )

    before = last_state(run_surface(RICH, params))
    after = last_state(run_surface(RICH._replace(events=events), shifted))

    np.testing.assert_allclose(after.mean[:2] - before.mean[:2], np.log(factor), rtol=1e-10)
    np.testing.assert_allclose(after.mean[2], before.mean[2], rtol=1e-9)
    np.testing.assert_allclose(after.cov, before.cov, rtol=1e-12)
    assert loglik(RICH._replace(events=events), shifted) == pytest.approx(loglik(RICH, params), rel=1e-12)


def test_another_unit_of_time_rescales_the_decline_alone():
    params = some_params(13)
    in_months = params._replace(
        mu_lam=params.mu_lam / 12.0,
        beta=params.beta / 12.0,
        tau_lam=params.tau_lam / 12.0,
        drift_var=params.drift_var / 12.0,
        kappa=params.kappa / 12.0,
    )
    months = PLAIN._replace(events=tuple(e._replace(t_yr=e.t_yr * 12.0) for e in PLAIN.events))

    assert loglik(months, in_months) == pytest.approx(loglik(PLAIN, params), rel=1e-11)


def test_a_location_tested_once_is_like_a_spot_chosen_that_day():
    params = some_params(14)
    named = PLAIN._replace(events=(RoundEvent(0.0, "ring", (SpotTest(9000.0, "=", "a"), SpotTest(8000.0))),))
    unnamed = PLAIN._replace(events=(ring(0.0, 9000.0, 8000.0),))

    assert loglik(named, params) == loglik(unnamed, params)


def test_a_far_away_bound_says_almost_nothing():
    params = some_params(15)
    extra = RoundEvent(6.0, "ring", (SpotTest(1e12, "<"),))
    with_bound = PLAIN._replace(events=(*PLAIN.events, extra))

    assert loglik(with_bound, params) == pytest.approx(loglik(PLAIN, params), abs=1e-9)


def test_covariances_stay_symmetric_and_positive():
    params = some_params(16)
    for history in (PLAIN, RICH, BOUNDED, SPOTS, CHANGED):
        block = pack([history])[0]
        after = run_filter(block, coefficients(block, params)).after_cov[..., 0]

        np.testing.assert_allclose(after, np.swapaxes(after, 1, 2), atol=1e-13)
        assert (np.linalg.eigvalsh(after) > -1e-10).all()
