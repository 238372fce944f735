"""Records drawn at random: the filter against the dense joint normal, its gradient, and what must not matter."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from clogging import priors
from clogging.blocks import pack, tile
from clogging.filtering import log_likelihood
from clogging.gradient import portfolio_loglik_gradient
from clogging.parameters import to_params
from clogging.trajectory import last_state, move, run_surface, ways_ahead
from clogging.types import (
    CLEANING_METHODS,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    RoundEvent,
    SourceEvent,
    SpotTest,
    SurfaceHistory,
)

from .worlds import DenseWorld, some_params, some_vector

SEEDS = range(10)


def random_round(rng, t, bounds):
    method = TEST_METHODS[0] if rng.random() < 0.6 else str(rng.choice(TEST_METHODS))
    names = list(rng.permutation(["a", "b", "c", None, None]))[: rng.integers(1, 5)]
    signs = ["=", "<", ">"] if bounds else ["="]
    spots = [SpotTest(float(np.exp(rng.normal(8.0, 1.2))), str(rng.choice(signs)), name) for name in names]
    return RoundEvent(t, method, tuple(spots))


def random_history(rng, bounds=False):
    """Any mixture of rounds, cleanings and changes of source, several of them on one day now and then."""
    t, events = 0.0, []
    for _ in range(rng.integers(2, 10)):
        t += float(rng.choice([0.0, 0.3, 1.1, 2.5]))
        kind = rng.random()
        if kind < 0.6 and not any(isinstance(e, RoundEvent) and e.t_yr == t for e in events):
            events.append(random_round(rng, t, bounds))
        elif kind < 0.9:
            share, wet = float(rng.choice([0.3, 0.8, 1.0])), bool(rng.random() < 0.3)
            events.append(CleaningEvent(t, str(rng.choice(CLEANING_METHODS)), share, wet))
        else:
            events.append(SourceEvent(t, str(rng.choice(["stopped", "started"]))))
    conditions = Conditions(
        float(rng.uniform(0, 3)), *(bool(rng.random() < 0.5) for _ in range(3)), int(rng.integers(3))
    )
    return SurfaceHistory(str(rng.choice(SURFACE_TYPES)), conditions, tuple(events))


def with_rounds(seed, **kinds):
    """The first history of the seed in which something was tested."""
    rng = np.random.default_rng(seed)
    while True:
        history = random_history(rng, **kinds)
        if any(isinstance(event, RoundEvent) for event in history.events):
            return history


def loglik(histories, params):
    return sum(float(log_likelihood(block, params).sum()) for block in pack(histories))


@pytest.mark.parametrize("seed", SEEDS)
def test_any_record_is_as_likely_as_its_joint_normal_says(seed):
    history, params = with_rounds(seed), some_params(100 + seed)
    world = DenseWorld(history, params)
    mean, cov = world.tests()

    assert loglik([history], params) == pytest.approx(
        multivariate_normal(mean, cov).logpdf(world.values), rel=1e-8
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_the_state_after_any_record_is_the_conditional_normal(seed):
    history, params = with_rounds(seed), some_params(200 + seed)
    world = DenseWorld(history, params)
    mean, cov = world.given_tests([world.x, world.b, world.lam])

    state = last_state(run_surface(history, params))

    np.testing.assert_allclose(state.mean[:, 0], mean, rtol=1e-7, atol=1e-9)
    np.testing.assert_allclose(state.cov[:, :, 0], cov, rtol=1e-6, atol=1e-10)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_gradient_of_any_portfolio_is_the_slope_in_any_direction(seed):
    rng = np.random.default_rng(300 + seed)
    blocks = pack([random_history(rng, bounds=True) for _ in range(6)])
    vector, step = some_vector(seed, 0.7), 1e-5
    direction = rng.normal(size=vector.size)
    direction /= np.linalg.norm(direction)
    pair = np.stack([vector + step * direction, vector - step * direction], axis=1)
    values, _ = portfolio_loglik_gradient([tile(block, 2) for block in blocks], pair)

    value, gradient = portfolio_loglik_gradient(blocks, vector)

    assert gradient[:, 0] @ direction == pytest.approx(
        (values[0] - values[1]) / (2 * step), rel=2e-5, abs=1e-5
    )
    assert values.mean() == pytest.approx(value[0], rel=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_portfolio_is_as_likely_as_its_surfaces_together_in_any_order(seed):
    rng = np.random.default_rng(400 + seed)
    histories, params = [random_history(rng, bounds=True) for _ in range(5)], some_params(seed)
    alone = sum(loglik([history], params) for history in histories)

    assert loglik(histories, params) == pytest.approx(alone, rel=1e-10)
    assert loglik(histories[::-1], params) == pytest.approx(alone, rel=1e-10)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_same_portfolio_twice_has_twice_the_gradient(seed):
    rng = np.random.default_rng(500 + seed)
    histories, vector = [random_history(rng, bounds=True) for _ in range(3)], some_vector(seed)

    once, twice = (portfolio_loglik_gradient(pack(some), vector)[1] for some in (histories, histories * 2))

    np.testing.assert_allclose(twice, 2.0 * once, rtol=1e-9, atol=1e-9)


def renamed(event):
    if not isinstance(event, RoundEvent):
        return event
    new = {"a": "by the gate", "b": "A1", "c": "zz", None: None}
    return event._replace(tests=tuple(t._replace(location=new[t.location]) for t in event.tests))


@pytest.mark.parametrize("seed", SEEDS)
def test_what_the_locations_are_called_does_not_matter(seed):
    history, params = with_rounds(seed, bounds=False), some_params(seed)
    other = history._replace(events=tuple(map(renamed, history.events)))

    assert loglik([other], params) == pytest.approx(loglik([history], params), rel=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_in_which_order_the_spots_of_a_round_were_tested_does_not_matter(seed):
    history, params = with_rounds(seed), some_params(seed)
    turned = tuple(
        e._replace(tests=e.tests[::-1]) if isinstance(e, RoundEvent) else e for e in history.events
    )

    assert loglik([history._replace(events=turned)], params) == pytest.approx(
        loglik([history], params), rel=1e-9
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_a_cleaning_that_gave_nothing_back_might_as_well_not_be_recorded(seed):
    history, vector = with_rounds(seed), some_vector(seed)
    params = to_params(vector)
    broom = CLEANING_METHODS.index("broom")
    for field, value in (("rho", 0.0), ("wet", 0.0), ("sd_clean", 1e-9)):
        getattr(params, field)[broom] = value
    last = history.events[-1].t_yr
    with_one = history._replace(events=(*history.events, CleaningEvent(last, "broom", 1.0, False)))

    before, after = (last_state(run_surface(h, params)) for h in (history, with_one))

    np.testing.assert_allclose(after.mean, before.mean, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(after.cov, before.cov, rtol=1e-7, atol=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_one_more_reading_never_leaves_more_doubt(seed):
    history, params = with_rounds(seed), some_params(seed)
    last = history.events[-1].t_yr + 0.5
    run = run_surface(history, params)
    before = move(run, last_state(run), last)
    tested = history._replace(events=(*history.events, RoundEvent(last, "ring", (SpotTest(2000.0),))))

    after = last_state(run_surface(tested, params))

    assert (np.diagonal(after.cov) <= np.diagonal(before.cov) + 1e-12).all()
    assert after.cov[0, 0, 0] < before.cov[0, 0, 0]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_higher_reading_means_a_faster_surface(seed):
    history, params = with_rounds(seed), some_params(seed)
    last = history.events[-1].t_yr + 0.5

    def believed(rate):
        events = (*history.events, RoundEvent(last, "ring", (SpotTest(rate),)))
        return float(last_state(run_surface(history._replace(events=events), params)).mean[0, 0])

    assert believed(100.0) < believed(1000.0) < believed(10_000.0)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_state_of_a_day_and_the_course_to_that_day_say_the_same(seed):
    history, params = with_rounds(seed, bounds=True), some_params(seed)
    run = run_surface(history, params)
    now = last_state(run)
    days = now.t_yr + np.array([1.3, 2.0, 4.7, 9.0])

    mean, sd = ways_ahead(run, now, days).falling

    for i, day in enumerate(days):
        there = move(run, now, day)
        np.testing.assert_allclose(there.mean[0], mean[i], rtol=1e-9)
        np.testing.assert_allclose(np.sqrt(there.cov[0, 0]), sd[i], rtol=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_doubt_about_the_rate_grows_while_nobody_looks(monkeypatch, seed):
    monkeypatch.setattr(priors, "AHEAD", priors.AHEAD._replace(mean=0.0, sd=0.0))
    history, params = with_rounds(seed), some_params(seed)
    kappa_free = params._replace(kappa=np.zeros_like(params.kappa))
    run = run_surface(history, kappa_free)
    now = last_state(run)

    # With no pull towards a floor nothing forgets: what is unknown of the pace adds up from the last test on,
    # but for what the last test tied together; after a few years that is used up.
    _, sd = ways_ahead(run, now, now.t_yr + np.array([4.0, 6.0, 9.0, 15.0])).falling

    assert (np.diff(sd[:, 0]) > 0.0).all()
