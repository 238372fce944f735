"""Forecasts in worlds that clog by other equations; the full table is printed by benchmarks/model_shapes.py."""

from functools import cache

import numpy as np
import pytest

from benchmarks.model_shapes import RULES, SEALED, judge, limits_of
from benchmarks.shape_worlds import SHAPES, Program, invent
from clogging.scores import coverage


@cache
def seen(name, n, program, seeds):
    portfolios = (np.random.default_rng([71, list(SHAPES).index(name), i]) for i in range(seeds))
    return [judge(rng, invent(rng, SHAPES[name], n, program), program.refill) for rng in portfolios]


@pytest.mark.parametrize("name", ["floor", "accelerating", "S"])
def test_after_a_refill_the_80_percent_range_holds_most_truths(name):
    """With a clock that ran on from the opening it held 0 to 30 % of them."""
    pits = np.concatenate([one.pits for one in seen(name, 12, Program(refill=True), 3)])

    assert coverage(pits, 0.8) > 0.65


RULED = ["even", "floor", "steps", "outliers"]


@pytest.mark.parametrize("name", RULED)
def test_next_rounds_are_foretold_better_than_by_the_simple_rules(name):
    judged = seen(name, 40, Program(rounds=5), 1)

    score = {rule: np.concatenate([j.log_scores[rule] for j in judged]).mean() for rule in ("model", *RULES)}
    assert all(score["model"] > score[rule] for rule in RULES)


def test_being_below_the_limit_is_foretold_better_than_by_the_last_value():
    judged = [one for name in RULED for one in seen(name, 40, Program(rounds=5), 1)]

    model, last = (np.concatenate([j.briers[i] for j in judged]).mean() for i in (0, 1))
    assert model < last


def test_limits_lie_up_to_three_below_the_last_results_whatever_the_true_rates_are():
    """Limits set by the true rates would tell every forecaster's judge what no forecaster knows."""
    truth = invent(np.random.default_rng(5), SHAPES["floor"], 12, Program(rounds=4, fixed=True))
    hidden = truth._replace(log_rate=truth.log_rate - 2.0)

    limits, again = (limits_of(np.random.default_rng(6), each) for each in (truth, hidden))

    # The last event of every surface of this program is a round.
    read = np.array([np.log([t.rate_mm_h for t in h.events[-1].tests]).mean() for h in truth.histories])
    assert (limits == again).all()
    assert (limits <= np.maximum(read, SEALED + 0.5)).all()
    assert (limits >= np.maximum(read - 3.0, SEALED + 0.5)).all()
    assert np.ptp(read - limits) > 0.5


@pytest.mark.parametrize("name", list(SHAPES))
def test_every_world_begins_as_new_and_only_falls(name):
    left = SHAPES[name].left(np.linspace(0.0, 5.0, 200))

    assert left[0] == pytest.approx(1.0, abs=0.01)
    assert (np.diff(left) <= 0.0).all()


def test_the_accelerating_world_has_the_published_points():
    """Kamali et al. 2017, J. Environ. Manage. 187:43-53, abstract: 0.80 of the rate after 3 years, none after 7."""
    scale = 7.0 * 0.9 ** (1.0 / 1.9)

    left = SHAPES["accelerating"].left(np.array([3.0, 7.0]) / scale)

    assert left[0] == pytest.approx(0.80, abs=0.005)
    assert left[1] == pytest.approx(0.0, abs=0.002)
