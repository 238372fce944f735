"""Plans of crews and days: what must hold of every one, and small ones whose best is known."""

from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.calc.routing.check import faults
from planning.calc.routing.problem import DAY_MIN, Problem, Shift, WorkOrder
from planning.calc.routing.reasons import Why, reasons
from planning.calc.routing.timetable import greedy
from planning.calc.routing.timing import Day, day_value, schedule
from planning.calc.routing.windows import Effort, make_plan
from tests.planning.calc.routing.town import crew, order, town

QUICK = Effort(iterations=40, rounds=3)


def days_of(plan):
    return {(r.crew, r.day): [stop.key for stop in r.stops] for r in plan.routes}


def test_everything_that_fits_is_done_and_the_near_ones_share_a_trip():
    problem = town([order("a", 8), order("b", 9), order("c", 8)])

    plan = make_plan(problem, QUICK)

    assert plan.left == ()
    assert len(plan.routes) == 1
    assert plan.value(problem) == 1500 - 180


def test_more_than_a_day_goes_on_several():
    problem = town([order(f"o{i}", 3, minutes=200) for i in range(6)])

    assert [len(keys) for keys in days_of(make_plan(problem, QUICK)).values()] == [2, 2, 2]


def test_the_owners_hours_and_the_days_open_are_kept():
    problem = town([order("a", 2, opens=840, closes=960), order("b", 2, days=(2,))])

    plan = make_plan(problem, QUICK)

    assert faults(problem, plan) == []
    assert plan.left == ()
    begins = {stop.key: (r.day, stop.begins) for r in plan.routes for stop in r.stops}
    assert begins["a"][1] >= 840
    assert begins["b"][0] == 2


def test_only_a_crew_that_can_do_it_is_sent_and_takes_its_own_time():
    fast, slow = {1: 60}, {0: 300, 1: 60}
    orders = [
        WorkOrder("a", 2, fast, frozenset({0}), 500.0),
        WorkOrder("b", 2, slow, frozenset({0}), 500.0),
        WorkOrder("c", 2, slow, frozenset({0}), 500.0),
    ]
    problem = town(orders, [crew(days=(0,)), crew("two", days=(0,), shift=Shift(480, 660))])

    plan = make_plan(problem, QUICK)

    assert faults(problem, plan) == []
    assert plan.left == ()
    assert len(plan.route_of(1, 0).stops) == 2


def test_two_depots_each_go_to_what_is_near():
    crews = [crew(days=(0,)), crew("two", days=(0,), depot=9)]
    problem = town([order("a", 1, crews=(0, 1)), order("b", 8, crews=(0, 1))], crews)

    assert days_of(make_plan(problem, QUICK)) == {(0, 0): ["a"], (1, 0): ["b"]}


def test_what_was_settled_stays_though_it_is_worth_nothing():
    problem = town([order("a", 9, worth=0.0, fixed=(0, 1)), order("b", 2, minutes=400, days=(1,))])

    plan = make_plan(problem, QUICK)

    assert days_of(plan)[0, 1] == ["a"]
    assert plan.left == ("b",)


def test_work_of_several_days_takes_days_in_a_row_over_a_weekend_from_one_crew():
    off = crew(days=(0, 1, 4, 5))
    problem = town([order("big", 3, minutes=400, days=range(6), worth=5000.0, whole_days=3)], [off])

    plan = make_plan(problem, QUICK)

    assert faults(problem, plan) == []
    assert sorted(days_of(plan)) in ([(0, 0), (0, 1), (0, 4)], [(0, 1), (0, 4), (0, 5)])


def test_work_of_several_days_gives_way_to_days_that_are_worth_more():
    small = [order(f"o{i}", 2, minutes=400, days=(i,), worth=900.0) for i in range(3)]
    big = order("big", 2, minutes=400, worth=1500.0, whole_days=3)

    plan = make_plan(town([*small, big]), QUICK)

    assert plan.left == ("big",)


def test_the_same_seed_gives_the_same_plan_and_it_can_be_stopped_with_the_best_so_far():
    rng = np.random.default_rng(4)
    orders = [order(f"o{i:02}", int(rng.integers(1, 10)), int(rng.integers(30, 200))) for i in range(30)]
    problem, seen = town(orders), []

    first, again = make_plan(problem, QUICK), make_plan(problem, QUICK)
    stopped = make_plan(problem, QUICK, lambda share, value: (seen.append((share, value)), len(seen) < 2)[1])

    assert first == again
    assert len(seen) == 2
    assert faults(problem, stopped) == []
    assert stopped.value(problem) >= seen[0][1] - 1e-9


def test_progress_rises_and_so_does_the_value():
    problem, seen = town([order(f"o{i}", 1 + i % 9, 90) for i in range(20)]), []

    make_plan(problem, QUICK, lambda share, value: (seen.append((share, value)), True)[1])

    shares, values = zip(*seen, strict=True)
    assert list(shares) == sorted(shares)
    assert list(values) == sorted(values)


def test_a_problem_without_crews_or_without_work_has_an_empty_plan():
    assert make_plan(town([order("a", 1, crews=())]), QUICK).left == ("a",)
    assert make_plan(town([]), QUICK).routes == ()


def test_matrices_that_do_not_fit_and_keys_used_twice_are_refused():
    with pytest.raises(ValueError, match="travel matrices"):
        town([order("a", 12)])
    with pytest.raises(ValueError, match="same key"):
        town([order("a", 1), order("a", 2)])


@pytest.mark.parametrize(
    ("orders", "why"),
    [
        ([order("a", 1, crews=())], Why.NO_CREW),
        ([order("a", 1, crews=(), fixed=(0, 1))], Why.NOT_EQUIPPED),
        ([order("a", 1, days=(7,))], Why.CREW_AWAY),
        ([order("a", 1, minutes=470)], Why.TOO_LONG),
        ([order("a", 1, minutes=60, opens=480, closes=520)], Why.TOO_LONG),
        ([order("a", 9, worth=50.0)], Why.DRIVE),
        ([order("a", 1, minutes=300, whole_days=4)], Why.DAYS_IN_A_ROW),
        ([order("a", 9, minutes=200, worth=300.0, whole_days=2)], Why.DRIVE),
        ([order("a", 1, minutes=300), order("b", 1, minutes=300, days=(0,), fixed=(0, 0))], None),
        ([order("a", 1, minutes=300, days=(0,)), order("b", 1, minutes=300, fixed=(0, 0))], Why.TAKEN),
        (
            [order("a", 1, minutes=300, worth=9.0, days=(0,)), order("b", 1, minutes=60, days=(0,))],
            None,
        ),
    ],
)
def test_why_an_order_was_left_is_said(orders, why):
    problem = town(orders)
    plan = make_plan(problem, QUICK)

    found = {each.key: each.why for each in reasons(problem, plan)}

    assert found.get("a") == why


def best_by_trying(problem):
    """The most valuable plan of a few orders on one crew's days, by trying every one."""
    days = [Day(0, day, shift, 0, []) for day, shift in problem.crews[0].shifts.items()]
    best = 0.0
    for places in product([None, *range(len(days))], repeat=len(problem.orders)):
        value = 0.0
        for at, day in enumerate(days):
            given = [o for o, place in zip(problem.orders, places, strict=True) if place == at]
            if any(day.day not in o.days for o in given):
                value = -np.inf
                break
            values = [_worth(problem, day, list(sequence)) for sequence in permutations(given)]
            value += max(values)
        best = max(best, value)
    return best


def _worth(problem, day, sequence):
    tried = Day(day.crew, day.day, day.shift, day.depot, sequence)
    if schedule(problem, tried) is None:
        return -np.inf
    return day_value(problem, tried)


@pytest.mark.parametrize("seed", range(12))
def test_small_plans_are_the_best_there_are(seed):
    rng = np.random.default_rng(seed)
    orders = [
        order(
            f"o{i}",
            int(rng.integers(1, 10)),
            int(rng.integers(60, 260)),
            days=sorted({int(d) for d in rng.integers(0, 2, size=2)}),
            worth=float(rng.uniform(30, 400)),
            opens=int(rng.choice([0, 600])),
        )
        for i in range(5)
    ]
    problem = town(orders, [crew(days=(0, 1))])

    found = make_plan(problem, Effort(iterations=300, rounds=4)).value(problem)

    assert found == pytest.approx(best_by_trying(problem), abs=0.01)


ORDERS = st.builds(
    lambda place, minutes, days, worth, opens, length, crews, whole: (
        place,
        minutes,
        days,
        worth,
        opens,
        min(DAY_MIN, opens + length),
        crews,
        whole,
    ),
    st.integers(1, 9),
    st.integers(5, 500),
    st.frozensets(st.integers(0, 6), max_size=5),
    st.floats(0, 2000),
    st.integers(0, 900),
    st.integers(30, 900),
    st.frozensets(st.integers(0, 2), max_size=3),
    st.sampled_from([0, 0, 0, 2, 3]),
)


@settings(max_examples=40)
@given(st.lists(ORDERS, max_size=14))
def test_every_plan_holds_is_no_worse_than_greedy_and_leaves_nothing_that_fits_and_pays(given_orders):
    orders = [
        WorkOrder(f"o{i:02}", p, dict.fromkeys(sorted(c), m), d, w, o, e, n)
        for i, (p, m, d, w, o, e, c, n) in enumerate(given_orders)
    ]
    crews = [crew(days=range(5)), crew("two", days=(0, 2, 4), depot=9), crew("three", days=(1, 2))]
    problem: Problem = town(orders, crews)

    plan = make_plan(problem, Effort(iterations=20, rounds=2))

    assert faults(problem, plan) == []
    if not any(o.whole_days for o in orders):
        assert plan.value(problem) >= greedy(problem).plan().value(problem) - 0.01
    for left in reasons(problem, plan):
        worth = problem.by_key[left.key].worth
        assert left.why is not Why.DRIVE or left.added >= worth - 1e-9
