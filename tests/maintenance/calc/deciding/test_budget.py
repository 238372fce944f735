"""Budgets: never exceeded, more money never gives more time below, and on small cases the best of all sets."""

from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.calc.deciding import budget as module
from maintenance.calc.deciding.budget import (
    Programmes,
    Work,
    care_at,
    choose_care,
    choose_work,
    cost_of,
    frontier,
)

money = st.integers(0, 60).map(float)
works = st.lists(
    st.builds(
        Work, st.sampled_from("abc"), st.integers(1, 40).map(float), money, st.integers(-3, 50).map(float)
    ),
    max_size=7,
)


def best_gain(listed, budget):
    """By trying every set."""
    sets = [c for size in range(len(listed) + 1) for c in combinations(listed, size)]
    return max(sum(w.gain for w in chosen) for chosen in sets if cost_of(chosen) <= budget + 1e-9)


@given(works, st.integers(0, 150).map(float))
def test_the_works_chosen_are_the_best_of_all_sets_within_the_budget(listed, budget):
    chosen = choose_work(listed, budget)

    assert chosen.cost <= budget
    assert chosen.cost == pytest.approx(cost_of([listed[i] for i in chosen.works]))
    assert chosen.gain == pytest.approx(best_gain(listed, budget))


@given(works, st.integers(0, 100).map(float), st.integers(0, 60).map(float))
def test_more_money_never_gains_less(listed, budget, more):
    assert choose_work(listed, budget + more).gain >= choose_work(listed, budget).gain - 1e-9


def test_surfaces_of_one_trip_share_its_minimum_charge():
    together = [Work("site", 10.0, 50.0, 8.0), Work("site", 15.0, 50.0, 8.0), Work("far", 1.0, 50.0, 9.0)]

    assert choose_work(together, 50.0).works == (0, 1)
    assert cost_of(together[:2]) == 50.0


def test_many_works_are_chosen_close_to_the_bound_of_the_best():
    rng = np.random.default_rng(5)
    listed = [
        Work(str(i // 3), float(a), 200.0, float(g))
        for i, (a, g) in enumerate(zip(rng.uniform(50, 900, 300), rng.uniform(0, 500, 300), strict=True))
    ]

    chosen = choose_work(listed, 0.5 * cost_of(listed))

    assert chosen.cost <= 0.5 * cost_of(listed)
    assert chosen.gain > 0.6 * sum(work.gain for work in listed)


@pytest.mark.parametrize("wrong", [-1.0, float("nan")])
def test_a_budget_below_nothing_is_refused(wrong):
    with pytest.raises(ValueError, match="0 or more"):
        choose_work([], wrong)


@st.composite
def programmes(draw, surfaces=4, most=4):
    n = draw(st.integers(1, surfaces))
    cost = np.full((n, most), np.inf)
    below = np.zeros((n, most))
    for i in range(n):
        for p in range(draw(st.integers(1, most))):
            cost[i, p], below[i, p] = draw(money), draw(money)
    return Programmes(cost, below)


def best_total(known, budget):
    """By trying every combination; None where none is within the budget."""
    choices = [np.flatnonzero(np.isfinite(row)) for row in known.cost]
    rows = np.arange(len(choices))
    sums = [(known.cost[rows, list(c)].sum(), known.below[rows, list(c)].sum()) for c in product(*choices)]
    return min((cost + below for cost, below in sums if cost <= budget), default=None)


@given(programmes(), st.integers(0, 200).map(float))
def test_the_care_chosen_is_the_best_of_all_combinations_within_the_budget(known, budget):
    found, best = choose_care(known, budget), best_total(known, budget)

    assert (found is None) == (best is None)
    if found is not None:
        assert found.cost <= budget
        assert found.cost + found.below == pytest.approx(best)


@pytest.mark.parametrize("exact_up_to", [0, 60])
@given(known=programmes(8), budget=st.integers(0, 300).map(float), more=st.integers(0, 100).map(float))
def test_more_money_never_gives_more_time_below(exact_up_to, known, budget, more):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "EXACT_UP_TO", exact_up_to)
        less, enough = choose_care(known, budget), choose_care(known, budget + more)

    if less is not None:
        assert less.cost <= budget
        assert enough.cost <= budget + more
        assert enough.below <= less.below + 1e-6


@given(programmes(8))
def test_the_frontier_falls_as_money_rises_and_ends_where_money_is_free(known):
    found = frontier(known)

    costs, below = [care.cost for care in found], [care.below for care in found]
    assert costs == sorted(costs)
    assert below == sorted(below, reverse=True)
    assert found[-1].cost == care_at(known, 0.0).cost


def test_a_surface_without_a_programme_is_refused():
    with pytest.raises(ValueError, match="finite cost"):
        Programmes(np.array([[np.inf]]), np.array([[0.0]]))
