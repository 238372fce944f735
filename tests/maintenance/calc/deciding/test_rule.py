"""When to clean, with what, and when to test first."""

import numpy as np
import pytest

from maintenance.calc.deciding.rule import method_now, should_test, wants_fresh_test, weigh
from maintenance.calc.deciding.table import solve
from tests.maintenance.calc.deciding.setting import REFILL, VACUUM, case, known


def weighed(k, c, step=0):
    n = k.mean.shape[1]
    return weigh(k, c, solve(k, c), (np.arange(n), np.zeros(n, dtype=int)), step)


def test_a_surface_near_its_limit_is_cleaned_and_one_far_above_is_not():
    c = case(2)

    found = method_now(weighed(known((5.6, 8.2)), c))

    assert list(found) == [VACUUM, -1]


def test_what_acting_saves_is_counted_after_its_price():
    cheap, dear = (weighed(known((5.6,)), case(prices={VACUUM: price})) for price in (300.0, 900.0))

    assert cheap.gain[VACUUM, 0] > dear.gain[VACUUM, 0]
    assert np.isneginf(cheap.gain[REFILL, 0])


def test_less_sure_knowledge_acts_earlier():
    grid = np.linspace(5.5, 8.5, 61)

    sure, unsure = (method_now(weighed(known(grid, sd=sd), case(61))) >= 0 for sd in (0.1, 0.8))

    assert sure.sum() < unsure.sum()


@pytest.mark.parametrize(
    ("x", "sd", "since", "due"),
    [
        (6.7, 0.8, 1.5, True),  # what is read decides what is done
        (6.7, 0.12, 1.5, False),  # it is known well enough
        (6.7, 0.8, 0.1, False),  # right after another
        (8.4, 0.5, 1.5, False),  # far above the limit whatever it is
        (8.4, 0.5, 5.5, True),  # nobody looked for years
        (4.2, 0.4, 1.5, False),  # below the limit beyond doubt
    ],
)
def test_a_test_is_made_where_it_can_change_what_is_done(x, sd, since, due):
    k, c = known((x,), sd=sd), case()

    assert bool(should_test(weighed(k, c), c, np.array([since]), 0)[0]) is due


def test_a_test_that_costs_more_than_it_can_save_is_not_made():
    k = known((6.7,), sd=0.8)

    due = [bool(should_test(weighed(k, c), c, np.array([1.5]), 0)[0]) for c in (case(), case(test=5000.0))]

    assert due == [True, False]


def test_no_test_is_made_on_frozen_ground():
    k, c = known((6.7,), sd=0.8), case()
    c.testable[0] = False

    assert not should_test(weighed(k, c), c, np.array([3.0]), 0).any()


@pytest.mark.parametrize(
    ("above", "since", "wanted"), [(3000.0, 0.6, True), (3000.0, 0.4, False), (9000.0, 2.0, False)]
)
def test_a_restoration_above_the_firms_sum_wants_a_fresh_test(above, since, wanted):
    k, c = known((4.5,)), case(below=40_000.0, ask_first=above)
    found = weighed(k, c)

    assert method_now(found)[0] == REFILL
    assert bool(wants_fresh_test(found, c, np.array([since]))[0]) is wanted


def test_a_sweeping_wants_no_fresh_test_whatever_it_costs():
    k, c = known((5.6,)), case(ask_first=1.0, prices={VACUUM: 450.0})

    assert not wants_fresh_test(weighed(k, c), c, np.array([3.0])).any()
