"""Plans of a larger firm: windows split by region, the same plan under load, effort by size."""

import subprocess
import sys

import numpy as np
import pytest

from planning.calc.routing.check import faults
from planning.calc.routing.timetable import greedy
from planning.calc.routing.windows import MOST_CREW_DAYS, MOST_WAITING, Effort, _nearest, _windows, make_plan
from tests.planning.calc.routing.town import crew, order, town

BUSY = "while True: pass"


def firm(n_crews, n_orders, n_days=8):
    rng = np.random.default_rng(3)
    orders = [
        order(
            f"o{i:03}",
            int(rng.integers(1, 10)),
            int(rng.integers(60, 200)),
            days=range(n_days),
            worth=float(rng.uniform(50, 500)),
            crews=range(n_crews),
        )
        for i in range(n_orders)
    ]
    crews = [crew(f"crew {i}", days=range(n_days), depot=9 * (i % 2)) for i in range(n_crews)]
    return town(orders, crews)


def test_windows_of_many_crews_are_split_and_every_crews_day_is_in_one():
    table = greedy(firm(24, 200))

    windows = _windows(table, turn=1)

    assert max(len(rows) for rows in windows) <= MOST_CREW_DAYS
    assert {row for rows in windows for row in rows} == set(range(len(table.days)))
    assert windows != _windows(table, turn=2)


def test_days_of_one_depot_are_solved_together_where_a_window_is_split():
    crews = [crew(f"crew {i}", days=range(4), depot=9 * (i % 2)) for i in range(22)]
    orders = [order(f"o{i:03}", 1 + 7 * (i % 2), 120, range(4), crews=range(i % 2, 22, 2)) for i in range(88)]
    table = greedy(town(orders, crews))

    for rows in _windows(table, turn=0):
        assert len({table.days[row].depot for row in rows}) == 1


def test_of_very_much_that_waits_a_window_is_offered_the_nearest():
    problem = firm(1, MOST_WAITING + 50, n_days=1)
    table = greedy(problem)
    waiting = [each for each in problem.orders if each.key not in table.at]

    near = _nearest(table, [0], waiting)

    def km(each):
        return problem.travel_km[each.place, table.days[0].places].min()

    keys = {each.key for each in near}
    left = [each for each in waiting if each.key not in keys]
    assert len(near) == MOST_WAITING
    assert left
    assert max(map(km, near)) <= min(map(km, left))


def test_a_plan_of_a_larger_firm_holds_and_is_better_than_greedy():
    problem = firm(14, 160)

    plan = make_plan(problem, Effort(iterations=10, rounds=1))

    assert faults(problem, plan) == []
    assert plan.value(problem) >= greedy(problem).plan().value(problem)


def test_the_same_seed_gives_the_same_plan_beside_a_busy_process():
    problem = firm(3, 40)
    quiet = make_plan(problem, Effort(iterations=20, rounds=2, seed=5))

    busy = [subprocess.Popen([sys.executable, "-c", BUSY]) for _ in range(2)]
    try:
        loaded = make_plan(problem, Effort(iterations=20, rounds=2, seed=5))
    finally:
        for each in busy:
            each.kill()
            each.wait()

    assert loaded == quiet


def test_another_seed_may_give_another_plan_so_that_the_seed_is_used():
    problem = firm(3, 40)

    plans = {make_plan(problem, Effort(iterations=5, rounds=1, seed=seed)).routes for seed in range(6)}

    assert len(plans) > 1


@pytest.mark.parametrize(("crews", "rounds"), [(1, 20), (10, 20), (30, 16), (100, 2), (1000, 1)])
def test_a_larger_firm_gets_fewer_rounds(crews, rounds):
    problem = town([], [crew(f"crew {i}", days=range(8)) for i in range(crews)])

    assert Effort().for_size(problem).rounds == rounds
