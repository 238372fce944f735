"""The table of what every choice costs from here on."""

import numpy as np
import pytest

from clogging.api import passage
from maintenance.calc.deciding.problem import DISCOUNT_YR
from maintenance.calc.deciding.table import USUAL, can_be_done, solve
from tests.maintenance.calc.deciding.setting import REFILL, RELAY, VACUUM, case, known

LOG_LIMIT = np.log(250.0)
ROOM = 8.5 - LOG_LIMIT
ONE = np.zeros(1, dtype=int)
FINE = USUAL._replace(sds=np.array([0.05, 0.15, 0.25, 0.35, 0.5, 0.75, 1.1, 1.6]), points=90, nodes=7)
WAIT, TEST = -2, -1
NEAR = 0.15  # values between two sds are taken as straight, which is a little less than they are


def costs(table, margin, room=ROOM, lam=0.25, step=0, sd=0.35):
    at = tuple(np.full(1, value) for value in (margin, room, lam, sd))
    return table.costs(ONE, ONE, step, at)[:, 0]


class Played:
    """Surfaces with a true margin, and what is known of it: sweepings at 450, tests at 150, time below at 4,000."""

    def __init__(self, margin, sd, fails, n):
        self.rng, self.n, self.fails = np.random.default_rng(1), n, fails
        self.truth = margin + sd * self.rng.normal(size=n)
        self.mean, self.var = np.full(n, margin), np.full(n, sd**2)

    def test(self, where):
        noise = 0.02 + 0.1 / 3
        read = self.truth + np.sqrt(noise) * self.rng.normal(size=self.n)
        gain = np.where(where, self.var / (self.var + noise), 0.0)
        self.mean += gain * (read - self.mean)
        self.var *= 1.0 - gain

    def sweep(self, where):
        share = 0.2 + 0.05 * self.rng.normal(size=self.n)
        after = self.truth + share * (ROOM - self.truth) + 0.2 * self.rng.normal(size=self.n)
        works = where & (self.rng.random(self.n) >= self.fails)
        self.truth = np.where(works, after, self.truth)
        gain = 0.2 * (ROOM - self.mean)
        var = 0.64 * self.var + 0.2**2 + (0.05 * (ROOM - self.mean)) ** 2
        f = self.fails
        self.mean = np.where(where, self.mean + (1 - f) * gain, self.mean)
        self.var = np.where(where, (1 - f) * var + f * self.var + f * (1 - f) * gain**2, self.var)

    def wait(self, span):
        self.mean, truth = (
            np.maximum(
                span.keep * x + (1 - span.keep) * ROOM - span.fall * 0.25, np.log(18.0) - LOG_LIMIT - 0.2
            )
            for x in (self.mean, self.truth)
        )
        self.truth = truth + np.sqrt(span.noise) * self.rng.normal(size=self.n)
        self.var = span.keep**2 * self.var + span.noise


def played(policy, margin, sd=0.35, fails=0.0, years=USUAL.years, n=20_000):
    """Mean discounted money. policy: (what is known, step) -> where to test, or where to sweep after that."""
    at, paid = Played(margin, sd, fails, n), np.zeros(n)
    span = passage(known().traits.pace, np.full(1, 0.25))
    for t in range(years * 4):
        weight = (1 + DISCOUNT_YR) ** (-t / 4)
        tests = policy(at, t, TEST)
        at.test(tests)
        sweeps = policy(at, t, WAIT)
        at.sweep(sweeps)
        paid += weight * (150.0 * tests + 450.0 * sweeps + 1000.0 * (at.truth < 0.0))
        at.wait(span)
    return paid.mean()


def sweeping_below(trigger):
    return lambda at, t, what: (at.mean < trigger) & (what == WAIT)


def following(table):
    def policy(at, t, what):
        zero = np.zeros(at.n, dtype=int)
        here = at.mean, np.full(at.n, ROOM), np.full(at.n, 0.25), np.sqrt(at.var)
        swept, waited, tested = table.costs(zero, zero, t % 4, here)
        return tested < np.minimum(swept, waited) if what == TEST else swept < waited

    return policy


@pytest.fixture(scope="module")
def sweeping():
    return solve(known(), case(prices={VACUUM: 450.0}), fails=0.0, how=FINE)


def test_never_cleaning_costs_what_it_comes_to_on_played_surfaces():
    table = solve(known(), case(prices={RELAY: 1e9}, test=1e9), how=FINE)

    assert costs(table, 1.0)[WAIT] == pytest.approx(played(sweeping_below(-99), 1.0), rel=0.02)


@pytest.mark.parametrize("margin", [0.3, 1.5])
def test_the_best_plan_costs_what_following_it_comes_to(sweeping, margin):
    assert costs(sweeping, margin).min() == pytest.approx(played(following(sweeping), margin), rel=NEAR)


def test_that_cleanings_may_give_nothing_is_in_what_a_plan_costs(sweeping):
    table = solve(known(), case(prices={VACUUM: 450.0}), fails=0.3, how=FINE)

    found = costs(table, 0.3).min()

    assert found > 1.1 * costs(sweeping, 0.3).min()
    assert found == pytest.approx(played(following(table), 0.3, fails=0.3), rel=NEAR)


@pytest.mark.parametrize("trigger", [-0.2, 0.2, 0.6, 1.0, 1.4])
def test_no_other_level_at_which_to_sweep_costs_less(sweeping, trigger):
    best = costs(sweeping, 0.5).min()

    assert played(sweeping_below(trigger), 0.5) > 0.98 * best


def test_a_test_saves_most_where_little_is_known_and_nothing_where_all_is():
    table = solve(known(), case())
    little, much = (costs(table, 1.2, sd=sd) for sd in (0.8, 0.1))

    assert little[TEST] < little[:TEST].min()
    assert much[TEST] - much[:TEST].min() > 100.0


def test_a_dearer_test_is_made_for_fewer_surfaces():
    margins = np.linspace(-1.0, 3.0, 41)
    tested = []
    for price in (50.0, 150.0, 1e6):
        table = solve(known(), case(test=price))
        found = np.array([costs(table, m, sd=0.8) for m in margins])
        tested.append(int((found[:, TEST] < found[:, :TEST].min(1)).sum()))

    assert tested[0] > tested[1] > tested[2] == 0


def test_a_surface_far_above_its_limit_waits_and_one_near_it_is_swept(sweeping):
    far, near = costs(sweeping, 2.6), costs(sweeping, 0.1)

    assert far[WAIT] < far[0]
    assert near[0] < near[WAIT]


def test_the_dearer_time_below_is_the_more_is_done_about_a_worn_surface():
    levels = np.array([[0.0], [4000.0], [40_000.0]])
    table = solve(known(), case(), below=levels)
    at = tuple(np.full(3, value) for value in (-1.0, ROOM, 0.3, 0.35))

    found = table.costs(np.zeros(3, dtype=int), np.arange(3), 0, at)[:TEST].argmin(0)

    names = [*table.methods, None]
    assert [names[i] for i in found] == [None, VACUUM, REFILL]


def test_prices_side_by_side_give_the_same_as_one_by_one():
    levels = np.array([[1000.0], [9000.0]])
    both = solve(known(), case(), below=levels)

    single = [solve(known(), case(below=float(level[0]))) for level in levels]

    assert both.values[:, 0::2] == pytest.approx(single[0].values)
    assert both.values[:, 1::2] == pytest.approx(single[1].values)


def test_surfaces_side_by_side_give_the_same_as_one_by_one():
    two = solve(known((6.0, 7.0), lam=np.array([0.2, 0.5])), case(2))

    alone = solve(known((7.0,), lam=0.5), case(1))

    at = tuple(np.full(1, value) for value in (0.4, 3.0, 0.5, 0.3))
    assert two.costs(np.array([1]), ONE, 2, at) == pytest.approx(alone.costs(ONE, ONE, 2, at))


def test_what_is_out_of_season_cannot_be_done():
    closed = case()
    closed.workable[VACUUM, 3] = False
    table = solve(known(), closed)

    able = [bool(can_be_done(costs(table, 0.2, step=step))[0]) for step in range(4)]

    assert able == [True, True, True, False]


def test_the_usual_grid_decides_like_a_fine_one():
    fine = solve(known(), case(), how=FINE)
    usual = solve(known(), case())
    margins = np.linspace(-1.0, 2.5, 36)

    chosen = [[int(costs(table, m)[:TEST].argmin()) for m in margins] for table in (fine, usual)]

    assert sum(a != b for a, b in zip(*chosen, strict=True)) <= 2
    assert len(set(chosen[0])) > 1
