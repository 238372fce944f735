"""Invented portfolios are of the model's own kind: with no scatter they follow its equations to the last digit, and
with it their moments are those that the parameters state."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from scipy.linalg import expm

from clogging.packing import conditions_row
from clogging.parameters import PRIOR_MEAN, PRIOR_SD, SLICES, to_params
from clogging.priors import METHODS, RUN_ON_CAP
from clogging.simulate import Plan, draw_params, draw_plan, simulate, to_histories, to_table
from clogging.types import (
    CLEANING_METHODS,
    RENEWING_METHODS,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    RoundEvent,
)
from tests.clogging.worlds import some_params

SCATTERS = ("tau_b", "tau_lam", "drift_var", "sd_day", "sd_spot", "sd_clean", "sd_source")
BROOM, VACUUM, RELAY = (CLEANING_METHODS.index(name) for name in ("broom", "vacuum", "relay"))
SEEDS = st.integers(0, 10**6)


def without(params, *names):
    """The parameters with some of their scatters at nothing."""
    return params._replace(**{name: 0.0 * getattr(params, name) for name in names})


def plan_of(kinds, events):
    """The same events for one surface of each kind: (t_yr, cleaning, share, wet, tests, method) of each."""
    n = len(kinds)
    t, cleaning, share, wet, tests, method = (
        np.repeat(np.array(column)[:, None], n, axis=1) for column in zip(*events, strict=True)
    )
    z = np.tile([[0.5, 1.0, 0.0, 1.0, 2.0]], (n, 1))
    return Plan(np.array(kinds), z, t.astype(float), cleaning, share, wet, tests, method)


EVENTS = (
    (0.0, -1, 0.0, 0.0, 3, 0),
    (1.5, VACUUM, 0.5, 1.0, 0, 0),
    (2.0, -1, 0.0, 0.0, 2, 0),
    (3.0, RELAY, 0.4, 0.0, 0, 0),
    (4.5, -1, 0.0, 0.0, 1, 0),
)


def followed(p, kind, z):
    """x just after each of EVENTS: the equations by the matrix exponential, and what a cleaning does, by its words."""
    b, lam = p.mu_b[kind, 0], p.mu_lam[kind, 0] + z @ p.beta[:, 0]
    state, last, found = np.array([b, b, lam]), 0.0, []
    k, gamma = p.kappa[kind, 0], p.gamma[0]
    rates = np.array([[-k, k, -1.0], [0.0, 0.0, -gamma], [0.0, 0.0, 0.0]])
    for t, cleaning, share, wet, *_ in EVENTS:
        state = expm(rates * (t - last)) @ state
        last = t
        if cleaning >= 0:
            renews = CLEANING_METHODS[cleaning] in RENEWING_METHODS
            aim = p.mu_b[kind, 0] if renews else state[1]
            state[0] += share * (p.rho[cleaning, 0] - wet * p.wet[cleaning, 0]) * (aim - state[0])
            state[1] += share * (aim - state[1]) if renews else 0.0
        found.append(state[0])
    return found


@pytest.mark.parametrize("seed", [1, 2])
def test_without_scatter_every_surface_follows_the_equations(seed):
    p, kinds = without(some_params(seed), *SCATTERS), [0, 3, 8]
    plan = plan_of(kinds, EVENTS)

    world = simulate(np.random.default_rng(0), plan, p)

    for i, kind in enumerate(kinds):
        path = followed(p, kind, plan.z[i])
        np.testing.assert_allclose(world.log_rate[:, i], path, rtol=1e-9)
        np.testing.assert_allclose(world.tests[0, i, :3], path[0], rtol=1e-9)
        np.testing.assert_allclose(world.tests[4, i, :1], path[4], rtol=1e-9)


def test_a_round_holds_as_many_results_as_were_planned_and_no_more():
    world = simulate(np.random.default_rng(0), plan_of([0, 1], EVENTS), some_params())

    counts = (~np.isnan(world.tests)).sum(-1)
    assert counts.tolist() == [[3, 3], [0, 0], [2, 2], [0, 0], [1, 1]]


MANY = 40_000
TWICE = ((0.0, -1, 0.0, 0.0, 1, 0), (1.0, -1, 0.0, 0.0, 1, 0))


def many(events, p, seed=3):
    return simulate(np.random.default_rng(seed), plan_of([2] * MANY, events), p)


def near(value, *, rel):
    """Of forty thousand surfaces a moment is known to about one percent."""
    return pytest.approx(value, rel=rel)


def test_like_surfaces_scatter_in_rate_as_new_and_decline_and_both_go_together():
    """With an even decline that leaves nothing for good, a surface loses its own lam in the first year."""
    p = some_params()
    p = p._replace(kappa=0.0 * p.kappa, gamma=0.0 * p.gamma, drift_var=0.0 * p.drift_var)
    plan = plan_of([2], TWICE)

    first, second = many(TWICE, p).log_rate
    lam = first - second

    assert first.mean() == near(p.mu_b[2, 0], rel=1e-3)
    assert first.std() == near(p.tau_b[0], rel=0.02)
    assert lam.mean() == pytest.approx(p.mu_lam[2, 0] + plan.z[0] @ p.beta[:, 0], abs=0.003)
    assert lam.std() == near(p.tau_lam[0], rel=0.02)
    assert np.corrcoef(first, lam)[0, 1] == pytest.approx(p.corr[0], abs=0.015)


def test_what_the_decline_does_not_explain_grows_with_the_years():
    """Variance of an Ornstein-Uhlenbeck process: q (1 - e^(-2 kappa t)) / (2 kappa)."""
    p = without(some_params(), "tau_b", "tau_lam")
    p = p._replace(kappa=0.0 * p.kappa + 0.7)
    events = ((0.0, -1, 0.0, 0.0, 1, 0), (2.0, -1, 0.0, 0.0, 1, 0))

    _, later = many(events, p).log_rate

    assert later.var() == near(p.drift_var[0] * (1.0 - np.exp(-2.0 * 0.7 * 2.0)) / 1.4, rel=0.03)


def test_a_cleaning_of_a_part_scatters_with_that_part():
    p = without(some_params(), "tau_b", "tau_lam", "drift_var")
    events = ((0.0, -1, 0.0, 0.0, 1, 0), (1.0, BROOM, 0.25, 0.0, 0, 0))

    _, cleaned = many(events, p).log_rate

    assert cleaned.std() == near(0.5 * p.sd_clean[BROOM, 0], rel=0.02)


def test_a_layer_laid_anew_is_drawn_like_a_new_surface():
    """All of the area, the decline at nothing: what is left of the old rate is the share that was not restored."""
    p = without(some_params(), "tau_lam", "drift_var", "sd_clean")
    p = p._replace(mu_lam=0.0 * p.mu_lam, beta=0.0 * p.beta, gamma=0.0 * p.gamma)
    events = ((0.0, -1, 0.0, 0.0, 1, 0), (1.0, RELAY, 1.0, 0.0, 0, 0))

    before, after = many(events, p).log_rate

    rho = p.rho[RELAY, 0]
    assert np.cov(before, after)[0, 1] == pytest.approx((1.0 - rho) * p.tau_b[0] ** 2, abs=0.006)
    assert after.var() == near(((1.0 - rho) ** 2 + rho**2) * p.tau_b[0] ** 2, rel=0.03)


def test_results_scatter_by_spot_within_a_day_and_by_day_between_them():
    p = without(some_params(), "tau_b", "tau_lam", "drift_var")
    tests = many(((0.0, -1, 0.0, 0.0, 4, 0),), p).tests[0]

    assert tests.var(axis=1, ddof=1).mean() == near(p.sd_spot[0] ** 2, rel=0.02)
    assert tests.mean(1).var() == near(p.sd_day[0] ** 2 + p.sd_spot[0] ** 2 / 4, rel=0.03)


@pytest.mark.parametrize("method", [1, 3], ids=TEST_METHODS[1:4:2])
def test_another_method_reads_beside_the_ring_by_its_offset_and_differs_from_surface_to_surface(method):
    p = without(some_params(), *SCATTERS)
    x = p.mu_b[2, 0]

    read = many(((0.0, -1, 0.0, 0.0, 1, method),), p).tests[0, :, 0]

    assert read.mean() == pytest.approx(x + p.offset[method, 0], abs=0.01)
    assert read.std() == near(METHODS[TEST_METHODS[method]].surface_sd, rel=0.02)


@hypothesis_settings(max_examples=25)
@given(SEEDS, st.integers(1, 30), st.integers(2, 9), st.integers(1, 9))
def test_a_usual_plan_can_be_carried_out(seed, surfaces, events, types):
    plan = draw_plan(np.random.default_rng(seed), surfaces, events, types)

    cleans = plan.cleaning >= 0
    assert plan.t_yr.shape == (events, surfaces)
    assert (np.diff(plan.t_yr, axis=0) > 0).all()
    assert (plan.t_yr[0] >= 0).all()
    assert not cleans[[0, -1]].any()
    assert np.unique(plan.surface_type).size <= types
    assert (np.isin(plan.share[cleans], (0.5, 1.0))).all()
    assert (plan.n_tests[cleans] == 0).all()
    assert (plan.n_tests[~cleans] >= 1).all()
    assert (plan.wet[~cleans] == 0).all()


def test_about_one_event_in_six_is_a_cleaning_and_a_year_lies_between_two():
    plan = draw_plan(np.random.default_rng(1), 2000, 12)

    assert (plan.cleaning[1:-1] >= 0).mean() == near(1 / 6, rel=0.05)
    assert np.diff(plan.t_yr, axis=0).mean() == near(1.0, rel=0.02)


@hypothesis_settings(max_examples=15)
@given(SEEDS)
def test_a_world_as_histories_says_all_that_was_planned_and_measured(seed):
    rng = np.random.default_rng(seed)
    plan = draw_plan(rng, 6, 5)
    world = simulate(rng, plan, some_params())

    for i, history in enumerate(to_histories(world)):
        assert history.surface_type == SURFACE_TYPES[plan.surface_type[i]]
        expected = [min(plan.z[i, 0], RUN_ON_CAP), *plan.z[i, 1:]]
        assert conditions_row(history.conditions) == pytest.approx(expected)
        for j, event in enumerate(history.events):
            assert event.t_yr == plan.t_yr[j, i]
            if isinstance(event, CleaningEvent):
                said = (CLEANING_METHODS.index(event.method), event.share, event.wet)
                assert said == (plan.cleaning[j, i], plan.share[j, i], plan.wet[j, i])
            else:
                logs = [np.log(test.rate_mm_h) for test in event.tests]
                assert event.method == TEST_METHODS[plan.method[j, i]]
                assert logs == pytest.approx(world.tests[j, i, : plan.n_tests[j, i]])


def test_only_the_first_events_of_a_world_are_told_where_that_is_asked():
    world = simulate(np.random.default_rng(0), plan_of([0, 1], EVENTS), some_params())

    short, whole = to_histories(world, 3), to_histories(world)

    assert [len(history.events) for history in (*short, *whole)] == [3, 3, 5, 5]
    assert [s.events for s in short] == [w.events[:3] for w in whole]
    assert isinstance(short[0].events[-1], RoundEvent)


def test_a_table_of_rounds_by_another_method_is_refused():
    plan = plan_of([0], ((0.0, -1, 0.0, 0.0, 1, 2),))
    world = simulate(np.random.default_rng(0), plan, some_params())

    with pytest.raises(ValueError, match="only when every round is by the ring"):
        to_table(world)


def test_parameters_are_drawn_as_they_are_believed():
    """Of a thousand draws the mean of an entry lies within 4 of its standard errors, and its spread within a tenth."""
    rng = np.random.default_rng(6)
    drawn = [draw_params(rng) for _ in range(1000)]

    middle = to_params(PRIOR_MEAN)
    names = ("mu_b", "mu_lam", "beta", "rho", "wet", "offset")  # those that are normal as they stand
    for name in names:
        values = np.stack([getattr(one, name)[:, 0] for one in drawn])
        sd = values.std(0)
        assert (
            np.abs(values.mean(0) - getattr(middle, name)[:, 0]) <= 4.0 * sd / np.sqrt(1000) + 1e-12
        ).all()
    rho = np.stack([one.rho[:, 0] for one in drawn]).std(0)
    assert rho == pytest.approx(PRIOR_SD[SLICES["rho"]], rel=0.1)
