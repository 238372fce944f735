"""The hand-written gradient against differences of the log-likelihood."""

import numpy as np
import pytest

from clogging.blocks import pack, tile
from clogging.gradient import portfolio_loglik_gradient
from clogging.parameters import NAMES, SLICES, to_params
from clogging.types import CleaningEvent, Conditions, RoundEvent, SpotTest, SurfaceHistory

from .worlds import BOUNDED, CHANGED, EMPTY, PLAIN, RICH, SPOTS, ring, some_vector

# A long story, so that most parameters matter at once.
STORY = SurfaceHistory(
    "concrete_grid",
    Conditions(3.0, True, True, True, 2),
    (
        RoundEvent(0.0, "square_double_ring", (SpotTest(700.0, ">"), SpotTest(300.0, "=", "a"))),
        CleaningEvent(0.9, "broom", 0.7, True),
        RoundEvent(1.0, "square_double_ring", (SpotTest(250.0, "<", "a"), SpotTest(300.0), SpotTest(280.0))),
        CleaningEvent(2.0, "joint_refill", 0.5, True),
        CleaningEvent(2.0, "rejoint_resin", 1.0, False),
        RoundEvent(2.0, "flooding", (SpotTest(90.0, "<"), SpotTest(110.0), SpotTest(80.0, "=", "a"))),
        CleaningEvent(3.0, "relay", 0.3, True),
        ring(3.5, 400.0, 420.0, 500.0),
    ),
)
PORTFOLIO = [PLAIN, RICH, BOUNDED, EMPTY, STORY, CHANGED, SPOTS]


@pytest.mark.parametrize("seed", [1, 2])
def test_gradient_equals_central_differences_for_every_parameter(seed):
    blocks, vector, step = pack(PORTFOLIO), some_vector(seed), 1e-5
    size = vector.size
    moved = np.concatenate(
        [vector[:, None] + step * np.eye(size), vector[:, None] - step * np.eye(size)], axis=1
    )
    loglik, _ = portfolio_loglik_gradient([tile(block, 2 * size) for block in blocks], moved)
    expected = (loglik[:size] - loglik[size:]) / (2.0 * step)

    _, gradient = portfolio_loglik_gradient(blocks, vector)

    np.testing.assert_allclose(gradient[:, 0], expected, rtol=1e-6, atol=1e-7)


def test_every_parameter_that_the_portfolio_speaks_of_has_a_gradient():
    _, gradient = portfolio_loglik_gradient(pack(PORTFOLIO), some_vector(3))

    silent = {NAMES[i] for i in np.flatnonzero(gradient[:, 0] == 0.0)}
    heads = {name.split(":")[0] for name in NAMES} - {
        name.split(":")[0] for name in NAMES if name not in silent
    }

    assert heads == set()
    assert "mu_b:gravel" in silent  # its only surface has no tests
    assert "mu_b:plastic_grid" in silent


def test_gradients_of_parameter_sets_side_by_side_equal_each_alone():
    vectors = np.stack([some_vector(seed) for seed in (4, 5)], axis=1)
    blocks = pack(PORTFOLIO)

    loglik, gradient = portfolio_loglik_gradient([tile(block, 2) for block in blocks], vectors)

    for i in range(2):
        alone_loglik, alone = portfolio_loglik_gradient(blocks, vectors[:, i])
        assert loglik[i] == pytest.approx(alone_loglik[0], rel=1e-12)
        np.testing.assert_allclose(gradient[:, i], alone[:, 0], rtol=1e-9, atol=1e-11)


def test_the_vector_covers_every_field_once():
    covered = np.concatenate([np.arange(len(NAMES))[where] for where in SLICES.values()])

    assert sorted(covered) == list(range(len(NAMES)))
    assert to_params(some_vector(1)).offset[0, 0] == 0.0
