"""The shape of a decline beyond the records, against an ordinary differential equation written from the statement."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import norm

from clogging import priors
from clogging.decline import Pace, log_rate_after, passage_ahead
from clogging.extrapolation import VOUCHED_YR, extrapolate

ONE = np.ones(1)
USUAL = np.array([0.3])
# kappa, gamma, log rate over that as new, decline a year.
CASES = [
    (0.3, 0.1, -1.0, 0.4),
    (-0.2, 0.0, -0.5, 0.1),
    (-0.6, 0.2, -2.0, 0.9),
    (0.0, 0.4, 0.0, 0.3),
    (1.2, 0.05, -0.4, 0.02),
]


def pace_of(kappa, gamma, n=1):
    return Pace(np.full(n, kappa), np.full(n, gamma), np.full(n, 0.02))


def by_equation(pace, years, above, lam, kappa_beyond):
    """(x, b) after years from x = above, b = 0, by stepping through the statement of the module."""

    def slope_of(kappa, steady):
        def change(_, state):
            x, b = state
            loss = steady + kappa * (x - b)
            return [-loss, -float(pace.gamma[0]) * steady]

        return change

    first = min(years, VOUCHED_YR)
    kappa = float(pace.kappa[0])
    so_far = solve_ivp(slope_of(kappa, lam), (0.0, first), [above, 0.0], rtol=1e-11, atol=1e-13).y[:, -1]
    if years <= VOUCHED_YR:
        return so_far
    behind = min(so_far[0] - so_far[1], 0.0)
    steady = lam + (kappa - kappa_beyond) * behind
    return solve_ivp(slope_of(kappa_beyond, steady), (first, years), so_far, rtol=1e-11, atol=1e-13).y[:, -1]


@pytest.mark.parametrize(("kappa", "gamma", "above", "lam"), CASES)
@pytest.mark.parametrize("years", [0.0, 0.7, VOUCHED_YR, 2.0, 6.0])
def test_the_means_follow_the_equation_before_and_after_the_bend(kappa, gamma, above, lam, years):
    pace = pace_of(kappa, gamma)

    way = extrapolate(pace, np.array([years]), above * ONE, lam * ONE, USUAL)

    state = np.array([[above], [0.0], [lam]])
    x, _ = log_rate_after(way.span, state, np.zeros((3, 3, 1)))
    beyond = float(extrapolate(pace, 99.0 * ONE, above * ONE, lam * ONE, USUAL).kappa[0])
    wanted_x, wanted_b = by_equation(pace, years, above, lam, beyond)
    assert (x - way.less_x)[0] == pytest.approx(wanted_x, rel=1e-7, abs=1e-8)
    assert -(way.span.sink * lam + way.less_b)[0] == pytest.approx(wanted_b, rel=1e-7, abs=1e-8)


@pytest.mark.parametrize(("kappa", "gamma", "above", "lam"), CASES)
def test_as_long_as_the_records_vouch_for_it_the_fitted_shape_holds(kappa, gamma, above, lam):
    pace, years = pace_of(kappa, gamma), np.array([VOUCHED_YR])

    way = extrapolate(pace, years, above * ONE, lam * ONE, USUAL)

    for found, wanted in zip(way.span, passage_ahead(pace, years, above * ONE, lam * ONE), strict=True):
        assert found == pytest.approx(wanted, abs=1e-14)
    assert (way.less_x[0], way.less_b[0], way.kappa[0]) == (0.0, 0.0, kappa)


@pytest.mark.parametrize(("kappa", "kept"), [(0.4, 0.2), (-0.4, -0.4)])
def test_the_doubt_about_kappa_is_normal_over_the_draws_about_what_is_known_of_it(kappa, kept):
    """Half the usual decline is half a kappa above 0; one below 0 stays, and what it adds to the slope is a part of it
    that is expected to slow less. Sorted, as no draw has a place of its own."""
    n, lam = 16, 0.15
    pace = pace_of(kappa, 0.0, n)

    beyond = extrapolate(pace, np.full(n, 9.0), np.full(n, -1.0), np.full(n, lam), USUAL).kappa

    left = np.exp(-kappa * VOUCHED_YR)
    grown = kappa * (-left - lam * (1.0 - left) / kappa)
    slope = lam + grown
    slows = (0.35 * lam + 0.2 * grown) / slope if kappa < 0.0 else 0.35
    places = norm.ppf((np.arange(n) + 0.5) / n, slows, 1.0)
    assert np.sort(beyond) == pytest.approx(kept + max(slope, 0.05) * places, abs=1e-12)
    assert (np.diff(beyond) < 0.0).any()


def test_no_decline_speeds_up_so_fast_that_its_numbers_lose_their_meaning():
    beyond = extrapolate(
        pace_of(-0.4, 0.0, 16), np.full(16, 9.0), np.full(16, -1.0), np.full(16, 9.0), USUAL
    ).kappa

    assert beyond.min() == -3.0
    assert beyond.max() > 2.0


@pytest.mark.parametrize(("kappa", "lam"), [(0.3, 0.4), (-0.3, 0.2)])
def test_mean_and_scatter_are_those_of_paths_drawn_step_by_step(kappa, lam):
    """Euler and Maruyama with a step of 1/200 year over 4 years, 20,000 paths, first value, start and decline drawn."""
    rng, n, step = np.random.default_rng(11), 20_000, 1.0 / 200.0
    mean, sd = np.array([-0.8, 0.0, lam]), np.array([0.2, 0.1, 0.05])
    pace = Pace(kappa * ONE, 0.1 * ONE, 0.05 * ONE)
    way = extrapolate(pace, 4.0 * ONE, (mean[0] - mean[1]) * ONE, lam * ONE, USUAL)

    x, b, own = mean[:, None] + sd[:, None] * rng.normal(size=(3, n))
    usual = by_equation(pace, VOUCHED_YR, mean[0], lam, 0.0)
    added = (kappa - float(way.kappa[0])) * (usual[0] - usual[1])
    for i in range(800):
        bent = i * step >= VOUCHED_YR
        steady = own + added * bent
        loss = steady + (float(way.kappa[0]) if bent else kappa) * (x - b)
        x = x - loss * step + np.sqrt(0.05 * step) * rng.normal(size=n)
        b = b - 0.1 * steady * step

    found, var = log_rate_after(way.span, mean[:, None], np.diag(sd**2)[:, :, None])
    assert (found - way.less_x)[0] == pytest.approx(x.mean(), abs=4.0 * x.std() / np.sqrt(n) + 0.01)
    assert np.sqrt(var[0]) == pytest.approx(x.std(), rel=0.03)


@pytest.mark.parametrize(
    ("lam", "share"), [(0.9, 3.0), (5.0, 3.0), (0.1, 1.0 / 3.0), (0.0, 1.0 / 3.0), (-1.0, 1.0 / 3.0)]
)
def test_kappa_follows_the_pace_of_the_surface_within_bounds(monkeypatch, lam, share):
    monkeypatch.setattr(priors, "AHEAD", priors.AHEAD._replace(mean=0.0, sd=0.0))

    beyond = extrapolate(pace_of(0.5, 0.0), 9.0 * ONE, -1.0 * ONE, lam * ONE, USUAL).kappa

    assert beyond[0] == pytest.approx(0.5 * share)


def test_a_kind_without_a_decline_gives_no_ratio_without_end(monkeypatch):
    monkeypatch.setattr(priors, "AHEAD", priors.AHEAD._replace(mean=0.0, sd=0.0))

    beyond = extrapolate(pace_of(0.5, 0.0), 9.0 * ONE, -1.0 * ONE, 0.02 * ONE, np.zeros(1)).kappa

    assert beyond[0] == pytest.approx(0.5 * 2.0)


@pytest.mark.parametrize(("above", "lam", "slope"), [(-1.0, 9.0, 2.0), (-4.0, 0.5, 0.05)])
def test_the_doubt_goes_with_the_slope_within_bounds(above, lam, slope):
    """The one clogs faster, the other slower than the bounds."""
    pace = pace_of(0.3, 0.0)

    beyond = extrapolate(pace, 9.0 * ONE, above * ONE, lam * ONE, np.array([lam])).kappa

    assert beyond[0] == pytest.approx(0.3 + slope * priors.AHEAD.mean)
