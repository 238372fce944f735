"""The table of what every choice costs from here on."""

import numpy as np
import pytest
from scipy.special import ndtr

from clogging.api import passage
from maintenance.calc.deciding.problem import DISCOUNT_YR
from maintenance.calc.deciding.table import USUAL, can_be_done, solve
from tests.maintenance.calc.deciding.setting import REFILL, RELAY, VACUUM, case, known

LOG_LIMIT = np.log(250.0)
ONE = np.zeros(1, dtype=int)


def costs(table, margin, room=8.5 - LOG_LIMIT, lam=0.25, step=0):
    at = tuple(np.full(1, value) for value in (margin, room, lam))
    return table.costs(ONE, ONE, step, at)[:, 0]


def played(policy, margin, years, seed=1, n=20_000):
    """Mean discounted money of a policy (margins -> mask of sweeping), carried out on as many surfaces."""
    rng = np.random.default_rng(seed)
    k = known()
    room, h, paid = 8.5 - LOG_LIMIT, np.full(n, margin), np.zeros(n)
    span = passage(k.traits.pace, np.full(1, 0.25))
    for t in range(years * 4):
        weight = (1 + DISCOUNT_YR) ** (-t / 4)
        sweeps = policy(h, t)
        swept = h + 0.2 * (room - h) + 0.2 * rng.normal(size=n)
        h = np.where(sweeps, swept, h)
        paid += weight * (450.0 * sweeps + 4000.0 / 4 * ndtr(-h / 0.35))
        moved = span.keep * h + (1 - span.keep) * room - span.fall * 0.25
        h = np.maximum(moved + np.sqrt(span.noise) * rng.normal(size=n), np.log(18.0) - LOG_LIMIT - 0.2)
    return paid.mean()


@pytest.fixture(scope="module")
def sweeping():
    return solve(known(), case(prices={VACUUM: 450.0}), how=USUAL._replace(points=80, nodes=5))


def test_never_cleaning_costs_what_it_comes_to_on_played_surfaces():
    table = solve(known(), case(prices={RELAY: 1e9}), how=USUAL._replace(points=80, nodes=5))

    assert costs(table, 1.0)[-1] == pytest.approx(played(lambda h, t: h < -99, 1.0, USUAL.years), rel=0.02)


@pytest.mark.parametrize("margin", [0.3, 1.5])
def test_the_best_plan_costs_what_following_it_comes_to(sweeping, margin):
    def best(h, t):
        at = h, np.full(h.size, 8.5 - LOG_LIMIT), np.full(h.size, 0.25)
        zero = np.zeros(h.size, dtype=int)
        both = sweeping.costs(zero, zero, t % 4, at)
        return both[0] < both[1]

    assert costs(sweeping, margin).min() == pytest.approx(played(best, margin, USUAL.years), rel=0.06)


@pytest.mark.parametrize("trigger", [-0.2, 0.2, 0.6, 1.0, 1.4])
def test_no_other_level_at_which_to_sweep_costs_less(sweeping, trigger):
    best = costs(sweeping, 0.5).min()

    assert played(lambda h, t: h < trigger, 0.5, USUAL.years) > 0.98 * best


def test_a_surface_far_above_its_limit_waits_and_one_near_it_is_swept(sweeping):
    far, near = costs(sweeping, 2.6), costs(sweeping, 0.1)

    assert far[-1] < far[0]
    assert near[0] < near[-1]


def test_the_dearer_time_below_is_the_more_is_done_about_a_worn_surface():
    levels = np.array([[0.0], [4000.0], [40_000.0]])
    table = solve(known(), case(), below=levels)
    at = tuple(np.full(3, value) for value in (-1.0, 8.5 - LOG_LIMIT, 0.3))

    found = table.costs(np.zeros(3, dtype=int), np.arange(3), 0, at).argmin(0)

    names = [*table.methods, None]
    assert [names[i] for i in found] == [None, VACUUM, REFILL]


def test_prices_side_by_side_give_the_same_as_one_by_one():
    levels = np.array([[1000.0], [9000.0]])
    both = solve(known(), case(), below=levels)

    single = [solve(known(), case(below=float(level[0]))) for level in levels]

    assert both.values[..., 0] == pytest.approx(single[0].values[..., 0])
    assert both.values[..., 1] == pytest.approx(single[1].values[..., 0])


def test_surfaces_side_by_side_give_the_same_as_one_by_one():
    two = solve(known((6.0, 7.0), lam=np.array([0.2, 0.5])), case(2))

    alone = solve(known((7.0,), lam=0.5), case(1))

    at = tuple(np.full(1, value) for value in (0.4, 3.0, 0.5))
    assert two.costs(np.array([1]), ONE, 2, at) == pytest.approx(alone.costs(ONE, ONE, 2, at))


def test_what_is_out_of_season_cannot_be_done():
    closed = case()
    closed.workable[VACUUM, 3] = False
    table = solve(known(), closed)

    able = [bool(can_be_done(costs(table, 0.2, step=step))[0]) for step in range(4)]

    assert able == [True, True, True, False]


def test_the_usual_grid_decides_like_a_fine_one():
    fine = solve(known(), case(), how=USUAL._replace(points=120, nodes=7))
    usual = solve(known(), case())
    margins = np.linspace(-1.0, 2.5, 36)

    chosen = [[int(costs(table, m).argmin()) for m in margins] for table in (fine, usual)]

    assert sum(a != b for a, b in zip(*chosen, strict=True)) <= 2
    assert len(set(chosen[0])) > 1
