"""What a year, a cleaning, a test and a stopped source do to what is known: by the matrix exponential, by quadrature
over the share restored, and by the normal law, each written from the model's statement and nothing else."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.linalg import expm
from scipy.stats import norm

from clogging import api
from clogging.decline import Pace
from clogging.trajectory import last_state, move, run_surface
from tests.clogging.worlds import CHANGED, EMPTY, PLAIN, RICH, SPOTS

N = 4
METHODS = len(api.CLEANING_METHODS)
VACUUM, MILL, RELAY = (api.CLEANING_METHODS.index(name) for name in ("vacuum", "mill", "relay"))
SEEDS = st.integers(0, 10**6)
few = hypothesis_settings(max_examples=20)


def traits_of(rng):
    """Traits of N surfaces whose decline slows with the loss, none of them known exactly."""
    return api.Traits(
        Pace(rng.uniform(0.05, 1.5, N), rng.uniform(0.0, 0.4, N), rng.uniform(0.005, 0.05, N)),
        rng.uniform(0.1, 0.9, (METHODS, N)),
        rng.uniform(0.05, 0.4, (METHODS, N)),
        rng.uniform(0.1, 0.5, (METHODS, N)),
        rng.uniform(8.0, 9.5, N),
        rng.uniform(0.2, 0.8, N),
        rng.uniform(0.01, 0.1, N),
        rng.uniform(0.1, 0.5, N),
        rng.uniform(0.1, 0.9, N),
        rng.uniform(0.02, 0.2, N),
    )


def known_of(seed):
    """N surfaces below their rate as new, with every covariance there can be."""
    rng = np.random.default_rng(seed)
    b = rng.uniform(8.0, 9.5, N)
    mean = np.stack([b - rng.uniform(0.2, 2.0, N), b, rng.uniform(0.05, 0.4, N)])
    roots = rng.normal(size=(N, 3, 3)) * np.array([0.6, 0.4, 0.1])[:, None]
    cov = np.moveaxis(roots @ roots.swapaxes(1, 2), 0, 2) + 1e-3 * np.eye(3)[:, :, None]
    return api.Known(mean, cov, traits_of(rng))


def drawn_of(seed):
    known = known_of(seed)
    return api.Drawn(known.mean, known.traits._replace(share_sd=np.zeros((METHODS, N))))


def each(known):
    """Mean (3,) and covariance (3, 3) of every surface."""
    return [(known.mean[:, i], known.cov[:, :, i]) for i in range(known.mean.shape[1])]


def same(known, expected):
    for (mean, cov), (its_mean, its_cov) in zip(each(known), expected, strict=True):
        np.testing.assert_allclose(mean, its_mean, rtol=1e-9, atol=1e-12)
        np.testing.assert_allclose(cov, its_cov, rtol=1e-8, atol=1e-12)


def years_pass(pace, i, years):
    """dx = -(lam + kappa (x - b)) dt + noise, db = -gamma lam dt: the matrix and the variance of a span."""
    kappa, gamma, drift = (field[i] for field in pace)
    rates = np.array([[-kappa, kappa, -1.0], [0.0, 0.0, -gamma], [0.0, 0.0, 0.0]])
    return expm(rates * years), drift * quad(lambda s: np.exp(-2.0 * kappa * s), 0.0, years)[0]


def moments(shares, weights, mean, cov, noise):
    """Mean and covariance of (x + s (b - x) + noise, b, lam) over a share s that takes values by weight."""
    moved = [np.array([[1.0 - s, s, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]) for s in shares]
    means = np.array([step @ mean for step in moved])
    middle = weights @ means
    within = sum(w * step @ cov @ step.T for w, step in zip(weights, moved, strict=True))
    between = sum(w * np.outer(m - middle, m - middle) for w, m in zip(weights, means, strict=True))
    return middle, within + between + np.diag([noise, 0.0, 0.0])


def shares_of(traits, method, i):
    """Three values of the share restored with weights that have its first five moments (Gauss-Hermite)."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(3)
    return traits.share[method, i] + traits.share_sd[method, i] * nodes, weights / weights.sum()


@few
@given(SEEDS, st.floats(0.0, 6.0))
def test_years_move_what_is_known_as_the_matrix_exponential_has_it(seed, years):
    known = known_of(seed)
    moves = [years_pass(known.traits.pace, i, years) for i in range(N)]

    after = api.let_pass(known, years)

    expected = [
        (step @ mean, step @ cov @ step.T + np.diag([noise, 0.0, 0.0]))
        for (step, noise), (mean, cov) in zip(moves, each(known), strict=True)
    ]
    expected = [(np.array([max(mean[0], np.log(api.SEALED_MM_H)), *mean[1:]]), cov) for mean, cov in expected]
    same(after, expected)


@few
@given(SEEDS, st.floats(0.1, 3.0), st.floats(0.1, 3.0))
def test_a_wait_cut_in_two_leaves_the_same_knowledge(seed, first, second):
    known = known_of(seed)

    cut = api.let_pass(api.let_pass(known, first), second)

    same(cut, each(api.let_pass(known, first + second)))


@few
@given(SEEDS, st.integers(0, METHODS - 1))
def test_a_cleaning_whose_share_is_doubted_has_the_moments_of_that_doubt(seed, method):
    """The part restored is a doubtful share of a loss that is doubtful itself: both doubts, and their product."""
    known = known_of(seed)
    traits, renews = known.traits, api.CLEANING_METHODS[method] in api.RENEWING_METHODS
    expected = []
    for i, (mean, cov) in enumerate(each(known)):
        if renews:  # drawn anew, so that it knows nothing of what lay there before
            mean, cov = mean.copy(), cov.copy()
            mean[1], cov[1], cov[:, 1] = traits.new[i], 0.0, 0.0
            cov[1, 1] = traits.new_sd[i] ** 2
        expected.append(moments(*shares_of(traits, method, i), mean, cov, traits.scatter[method, i] ** 2))

    after = api.cleaned(known, np.full(N, method))

    same(after, expected)


def test_of_several_surfaces_each_is_cleaned_its_own_way_or_not_at_all():
    known = known_of(5)
    ways = np.array([VACUUM, -1, RELAY, MILL])

    after = api.cleaned(known, ways)

    alone = [each(api.cleaned(known, np.full(N, way)))[i] for i, way in enumerate(ways)]
    same(after, alone)
    assert np.array_equal(after.mean[:, 1], known.mean[:, 1])


@few
@given(SEEDS, st.integers(1, 9), st.floats(-2.0, 2.0))
def test_a_round_conditions_the_whole_state_as_the_joint_normal_does(seed, spots, away):
    """(x, b, lam, reading) as one normal; the reading is x with the scatter of the day and of the mean of the spots."""
    known = known_of(seed)
    reading = known.mean[0] + away
    expected = []
    for i, (mean, cov) in enumerate(each(known)):
        joint = np.vstack([np.hstack([cov, cov[:, :1]]), np.append(cov[0], cov[0, 0])])
        joint[3, 3] += known.traits.day_var[i] + known.traits.spot_var[i] / spots
        gain = joint[:3, 3] / joint[3, 3]
        expected.append((mean + gain * (reading[i] - mean[0]), cov - np.outer(gain, joint[3, :3])))

    after = api.tested(known, reading, spots, np.full(N, True))

    same(after, expected)


@few
@given(SEEDS)
def test_more_spots_leave_less_doubt_but_never_less_than_the_day_does(seed):
    known = known_of(seed)
    doubts = [
        api.tested(known, known.mean[0], spots, np.full(N, True)).cov[0, 0] for spots in (1, 2, 5, 10**9)
    ]

    assert all((more < less).all() for less, more in pairwise(doubts))
    day = known.traits.day_var
    assert doubts[-1] == pytest.approx(known.cov[0, 0] * day / (known.cov[0, 0] + day), rel=1e-6)


@few
@given(SEEDS)
def test_a_stopped_source_scales_the_decline_and_all_that_goes_with_it(seed):
    known = known_of(seed)
    done = np.array([True, False, True, False])

    after = api.source_stopped(known, done)

    expected = each(known)
    for i in np.flatnonzero(done):
        step = np.diag([1.0, 1.0, known.traits.source_factor[i]])
        mean, cov = expected[i]
        expected[i] = step @ mean, step @ cov @ step + np.diag([0.0, 0.0, known.traits.source_sd[i] ** 2])
    same(after, expected)


@few
@given(SEEDS, st.floats(0.0, 5.0), st.floats(5.0, 9.0))
def test_the_chance_of_being_below_is_that_of_the_normal_which_the_years_leave(seed, years, log_limit):
    known = known_of(seed)
    moves = [years_pass(known.traits.pace, i, years) for i in range(N)]

    chance = known.chance_below(np.full(N, log_limit), years)

    for i, ((step, noise), (mean, cov)) in enumerate(zip(moves, each(known), strict=True)):
        sd = np.sqrt((step @ cov @ step.T)[0, 0] + noise)
        assert chance[i] == pytest.approx(norm.cdf(log_limit, (step @ mean)[0], sd), abs=1e-9)


@few
@given(SEEDS, st.floats(0.0, 6.0))
def test_true_surfaces_take_the_same_years_with_the_luck_that_they_are_dealt(seed, years):
    drawn, luck = drawn_of(seed), np.array([0.0, 1.0, -1.5, 0.3])
    moves = [years_pass(drawn.traits.pace, i, years) for i in range(N)]

    after = api.let_pass_truly(drawn, years, luck)

    for i, (step, noise) in enumerate(moves):
        expected = step @ drawn.state[:, i] + np.array([np.sqrt(noise) * luck[i], 0.0, 0.0])
        expected[0] = max(expected[0], np.log(api.SEALED_MM_H))
        np.testing.assert_allclose(after.state[:, i], expected, rtol=1e-9)


def test_a_true_cleaning_gives_back_its_share_of_what_was_lost():
    drawn, none = drawn_of(3), np.zeros((2, N))
    x, b, lam = drawn.state

    swept = api.cleaned_truly(drawn, np.full(N, VACUUM), none).state

    share = drawn.traits.share[VACUUM]
    np.testing.assert_allclose(swept, [(1.0 - share) * x + share * b, b, lam])


def test_a_true_renewal_goes_towards_a_rate_as_new_that_is_drawn_anew():
    drawn, luck = drawn_of(3), np.array([[1.0, 0.0, -1.0, 2.0], [0.0, 0.5, 1.0, -1.0]])
    x, _, lam = drawn.state

    laid = api.cleaned_truly(drawn, np.full(N, RELAY), luck).state

    traits = drawn.traits
    new = traits.new + traits.new_sd * luck[0]
    share, scatter = traits.share[RELAY], traits.scatter[RELAY]
    np.testing.assert_allclose(laid, [x + share * (new - x) + scatter * luck[1], new, lam])


def test_columns_that_are_taken_twice_are_twice_the_same_surface():
    known, drawn, at = known_of(8), drawn_of(8), np.array([2, 0, 2])

    some, true = known.columns(at), drawn.columns(at)

    same(api.let_pass(some, 1.5), [each(api.let_pass(known, 1.5))[i] for i in at])
    ways = np.full(3, MILL)
    same(api.cleaned(some, ways), [each(api.cleaned(known, np.full(N, MILL)))[i] for i in at])
    np.testing.assert_array_equal(true.state, drawn.state[:, at])
    np.testing.assert_array_equal(true.traits.share, drawn.traits.share[:, at])


HISTORIES = [PLAIN, RICH, EMPTY, SPOTS, CHANGED, PLAIN]
NOW = [6.0, 5.0, 2.0, 4.0, 7.5, 9.0]


@pytest.fixture(scope="module")
def fit():
    return api.fit_portfolio([PLAIN, RICH, SPOTS, CHANGED])


def seen_with(fit, histories=HISTORIES, now=NOW, n_draws=8, seed=1):
    return api.known_and_drawn(histories, fit, now_yr=now, n_draws=n_draws, rng=np.random.default_rng(seed))


def test_what_is_known_of_each_is_its_forecast_with_the_doubt_about_the_portfolio_averaged_in(fit):
    """Each history by itself, draw by draw: the mean of the means, and the law of total variance."""
    expected = []
    for history, now in zip(HISTORIES, NOW, strict=True):
        run = run_surface(history, fit.draws)
        state = move(run, last_state(run), now)
        expected.append((state.mean.mean(1), state.cov.mean(2) + np.cov(state.mean, bias=True)))

    known, _ = seen_with(fit)

    same(known, expected)


def test_in_which_order_surfaces_are_asked_about_changes_nothing_known_of_them(fit):
    order = [3, 0, 5, 2, 4, 1]

    known, _ = seen_with(fit, [HISTORIES[i] for i in order], [NOW[i] for i in order])

    same(known, [each(seen_with(fit)[0])[i] for i in order])


def test_the_same_seed_draws_the_same_surfaces_and_another_seed_others(fit):
    once, again, other = (seen_with(fit, seed=seed)[1].state for seed in (4, 4, 5))

    np.testing.assert_array_equal(once, again)
    assert not np.isclose(once[0], other[0]).any()


def test_more_draws_than_sets_of_parameters_use_every_set_alike(fit):
    sets = fit.draws.n_sets

    _, drawn = seen_with(fit, n_draws=2 * sets)

    gammas = drawn.traits.pace.gamma.reshape(len(HISTORIES), 2 * sets)
    assert np.sort(gammas[0]) == pytest.approx(np.sort(np.repeat(fit.draws.gamma, 2)))
    assert (gammas == gammas[0]).all()


def test_a_drawn_surface_keeps_the_traits_of_its_kind_under_its_own_parameters(fit):
    _, drawn = seen_with(fit, n_draws=4)

    kappa = drawn.traits.pace.kappa.reshape(len(HISTORIES), 4)
    assert (kappa[[0, 3, 5]] == kappa[0]).all()  # three of one kind
    kinds = [api.SURFACE_TYPES.index(history.surface_type) for history in HISTORIES]
    for row, kind in zip(kappa, kinds, strict=True):
        assert np.isin(row, fit.draws.kappa[kind]).all()


def test_seals_are_shared_by_both_views():
    """How far below sealed a surface lies decides nothing: both views stop at the same rate."""
    known, drawn = known_of(2), drawn_of(2)
    low = np.full(N, -3.0)

    sealed = api.let_pass(known._replace(mean=np.stack([low, *known.mean[1:]])), 0.0)
    truly = api.let_pass_truly(drawn._replace(state=np.stack([low, *drawn.state[1:]])), 0.0, np.zeros(N))

    assert np.exp(sealed.mean[0]) == pytest.approx(np.full(N, api.SEALED_MM_H))
    assert np.exp(truly.state[0]) == pytest.approx(np.full(N, api.SEALED_MM_H))
