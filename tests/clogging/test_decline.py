"""The closed form of the decline against the matrix exponential, and near kappa = 0."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.linalg import expm

from clogging.decline import (
    Pace,
    Passage,
    mean_decay,
    mean_decay_slope,
    passage,
    passage_ahead,
    passage_gradient,
    then,
)

KAPPAS = [-1.0, -0.3, -1e-3, -1e-9, 0.0, 1e-12, 1e-6, 0.05, 0.8, 2.5]


def pace(kappa, gamma=0.15, drift_var=0.03):
    return Pace(np.array([kappa]), np.array([gamma]), np.array([drift_var]))


@pytest.mark.parametrize("kappa", KAPPAS)
def test_a_span_equals_the_matrix_exponential_and_the_integral_of_the_noise(kappa):
    years = 3.7
    rates = np.array([[-kappa, kappa, -1.0], [0.0, 0.0, -0.15], [0.0, 0.0, 0.0]])
    move = expm(rates * years)
    noise = 0.03 * quad(lambda s: np.exp(-2.0 * kappa * s), 0.0, years, epsabs=1e-14)[0]

    span = passage(pace(kappa), np.array([years]))

    assert span.keep[0] == pytest.approx(move[0, 0], rel=1e-12)
    assert -span.fall[0] == pytest.approx(move[0, 2], rel=1e-12)
    assert -span.sink[0] == pytest.approx(move[1, 2], rel=1e-12)
    assert span.noise[0] == pytest.approx(noise, rel=1e-10)


def test_without_kappa_and_gamma_the_loss_is_a_straight_line():
    span = passage(pace(0.0, 0.0), np.array([2.5]))

    assert (span.keep[0], span.fall[0], span.sink[0]) == (1.0, 2.5, 0.0)
    assert span.noise[0] == pytest.approx(0.075, rel=1e-15)


@pytest.mark.parametrize("kappa", [-0.6, 1e-10, 0.9])
def test_a_span_cut_in_two_is_the_same_span(kappa):
    whole, first, second = (passage(pace(kappa), np.array([years])) for years in (5.0, 1.8, 3.2))

    # x after both: keep2 (keep1 x + (1 - keep1) b - fall1 lam) + (1 - keep2) (b - sink1 lam) - fall2 lam.
    fall = second.keep * first.fall + (1.0 - second.keep) * first.sink + second.fall
    assert first.keep * second.keep == pytest.approx(whole.keep, rel=1e-12)
    assert fall == pytest.approx(whole.fall, rel=1e-12)
    assert second.keep**2 * first.noise + second.noise == pytest.approx(whole.noise, rel=1e-12)


def at(span, x, b, lam):
    """x and b after a span."""
    return span.keep[0] * x + (1.0 - span.keep[0]) * b - span.fall[0] * lam, b - span.sink[0] * lam


def test_above_its_rate_as_new_a_surface_falls_evenly_and_speeds_up_only_below():
    """Solved by a general program: dx/dt = -lam above, where a kappa below 0 must not lift it."""
    x, b, lam, kappa, gamma = 7.5, 7.1, 0.3, -0.6, 0.15

    def motion(_t, state):
        push = kappa * (state[0] - state[1])
        return [-(lam + max(push, 0.0)), -gamma * lam]

    solved = solve_ivp(motion, (0.0, 4.0), [x, b], rtol=1e-11, atol=1e-12, max_step=0.01).y[:, -1]

    span = passage_ahead(pace(kappa), np.array([4.0]), np.array([x - b]), np.array([lam]))

    assert at(span, x, b, lam) == pytest.approx(tuple(solved), abs=1e-6)


@pytest.mark.parametrize("cut", [0.4, 1.9, 3.0])
def test_a_span_from_above_cut_in_two_is_the_same_span(cut):
    x, b, lam = 7.5, 7.1, 0.3

    def ahead(years, x, b):
        return passage_ahead(pace(-0.6), np.array([years]), np.array([x - b]), np.array([lam]))

    first = ahead(cut, x, b)
    whole, both = ahead(4.0, x, b), then(first, ahead(4.0 - cut, *at(first, x, b, lam)))

    assert np.array(both) == pytest.approx(np.array(whole), rel=1e-12)


def test_a_surface_read_far_above_its_rate_as_new_never_rises_by_itself():
    span = passage_ahead(pace(-0.7), np.array([10.0]), np.array([3.9]), np.array([0.2]))

    assert at(span, 10.8, 6.9, 0.2)[0] < 10.8


def test_a_positive_kappa_ends_at_the_floor_and_a_negative_one_speeds_up():
    ages = np.array([[1.0], [2.0], [50.0], [51.0]])

    slowing, speeding = (passage(pace(kappa, 0.0), ages).fall[:, 0] for kappa in (0.5, -0.1))

    assert slowing[-1] == pytest.approx(1.0 / 0.5, rel=1e-9)
    assert slowing[1] - slowing[0] < slowing[0]
    assert speeding[1] - speeding[0] > speeding[0]


def test_the_slope_of_the_mean_decay_is_smooth_where_the_series_takes_over():
    z = np.array([-3.0, -0.3 - 1e-9, -0.3 + 1e-9, -1e-8, 0.0, 1e-8, 0.3 - 1e-9, 0.3 + 1e-9, 4.0])
    step = 1e-5
    expected = (mean_decay(z + step) - mean_decay(z - step)) / (2.0 * step)

    assert mean_decay_slope(z) == pytest.approx(expected, rel=1e-9, abs=1e-10)
    assert mean_decay_slope(np.zeros(1))[0] == -0.5


@pytest.mark.parametrize("kappa", [-0.7, 0.0, 1e-7, 1.2])
def test_gradient_of_a_span_equals_central_differences(kappa):
    years, weights = np.array([2.2]), Passage(*(np.array([w]) for w in (0.3, -1.1, 0.7, 2.0)))

    def value(*numbers):
        return sum(float((w * f)[0]) for w, f in zip(weights, passage(pace(*numbers), years), strict=True))

    at, step = (kappa, 0.2, 0.05), 1e-6
    expected = [
        (value(*np.add(at, step * unit)) - value(*np.subtract(at, step * unit))) / (2.0 * step)
        for unit in np.eye(3)
    ]

    gradient = passage_gradient(pace(*at), years, weights)

    assert [float(part[0]) for part in gradient] == pytest.approx(expected, rel=1e-7, abs=1e-8)


def test_a_century_at_the_edges_stays_finite():
    for kappa in (-1.2, 3.0):
        assert all(np.isfinite(part).all() for part in passage(pace(kappa), np.array([500.0])))
