"""What work and driving cost by crew: the cheaper way is taken, and a plan counts what each crew costs."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.calc.routing.check import faults
from planning.calc.routing.problem import Problem, WorkOrder
from planning.calc.routing.windows import Effort, make_plan
from tests.planning.calc.routing.town import crew, line, order, town

QUICK = Effort(iterations=30, rounds=3)


def who(plan):
    return {stop.key: route.crew for route in plan.routes for stop in route.stops}


@pytest.mark.parametrize(("extra", "taken"), [(80.0, 0), (-80.0, 1), (0.0, None)])
def test_of_two_crews_that_drive_as_far_the_cheaper_one_does_the_work(extra, taken):
    crews = [crew("own", days=(0,)), crew("subcontracted", days=(0,))]
    problem = town([order("a", 3, days=(0,), crews=(0, 1), costs={1: extra})], crews)

    plan = make_plan(problem, QUICK)

    assert taken is None or who(plan) == {"a": taken}
    assert plan.value(problem) == 500 - 60 - min(0.0, extra)


def test_a_dear_crew_is_taken_where_the_firms_own_has_no_time_and_the_work_is_worth_it():
    crews = [crew("own", days=(0,)), crew("subcontracted", days=(0,))]
    orders = [order(key, 3, 300, days=(0,), crews=(0, 1), costs={1: 200.0}) for key in "ab"]

    both = make_plan(town(orders, crews), QUICK)
    one = make_plan(town([replace(o, worth=250.0) for o in orders], crews), QUICK)

    assert sorted(who(both).values()) == [0, 1]
    assert list(who(one).values()) == [0]
    assert len(one.left) == 1


def test_work_of_several_days_goes_to_the_cheaper_crew():
    crews = [crew("own"), crew("subcontracted")]
    big = order("big", 3, 400, worth=9000.0, crews=(0, 1), whole_days=2, costs={0: 300.0})

    assert who(make_plan(town([big], crews), QUICK)) == {"big": 1}


def test_each_crew_drives_at_its_own_hour_and_kilometre():
    crews = [crew("dear", days=(0,), km_cost=2.0, hour_cost=60.0), crew("cheap", days=(0,), km_cost=0.5)]
    problem = town([order("a", 3, days=(0,), crews=(0, 1))], crews)

    plan = make_plan(problem, QUICK)

    (route,) = plan.routes
    assert (route.crew, route.travel_min, route.travel_cost) == (1, 60, 30.0)
    assert problem.drive_cost(0, (0, 3, 0)) == 2.0 * 60 + 60.0 * 1


def test_the_search_moves_work_to_where_it_is_cheapest_though_greedy_put_it_elsewhere():
    """The first order fills the cheap crew's day in greedy order; the one it displaces is dear elsewhere."""
    crews = [crew("own", days=(0,)), crew("other", days=(0,))]
    first = order("first", 2, 400, days=(0,), worth=900.0, crews=(0, 1), costs={1: 1.0})
    second = order("second", 2, 400, days=(0,), worth=800.0, crews=(0, 1), costs={1: 500.0})

    plan = make_plan(town([first, second], crews), QUICK)

    assert who(plan) == {"first": 1, "second": 0}


@st.composite
def towns(draw):
    crews = [
        crew(
            f"crew {i}",
            days=draw(st.frozensets(st.integers(0, 2), min_size=1)),
            depot=draw(st.sampled_from([0, 9])),
            km_cost=draw(st.sampled_from([0.0, 0.5, 2.0])),
            hour_cost=draw(st.sampled_from([0.0, 45.0])),
        )
        for i in range(3)
    ]
    orders = [
        WorkOrder(
            f"o{i}",
            draw(st.integers(1, 8)),
            draw(st.dictionaries(st.integers(0, 2), st.integers(10, 300), max_size=3)),
            frozenset({0, 1, 2}),
            draw(st.floats(0, 600)),
            costs=draw(st.dictionaries(st.integers(0, 2), st.floats(-200, 400), max_size=3)),
        )
        for i in range(draw(st.integers(0, 8)))
    ]
    travel = line(10)
    return Problem(crews, orders, travel, travel.astype(float), draw(st.sampled_from([0.0, 15.0])))


def by_hand(problem, plan):
    """The value of a plan, added up arc by arc."""
    value = 0.0
    for route in plan.routes:
        who = problem.crews[route.crew]
        places = [who.depot, *(problem.by_key[s.key].place for s in route.stops), who.depot]
        for here, there in pairwise(places):
            value -= who.km_cost * problem.travel_km[here, there]
            value -= who.hour_cost * problem.travel_min[here, there] / 60
            value -= problem.arrival_cost * (here != there)
        for stop in route.stops:
            asked = problem.by_key[stop.key]
            value += asked.worth - asked.costs.get(route.crew, 0.0)
    return value


@settings(max_examples=40)
@given(towns())
def test_a_plan_by_crews_of_different_cost_holds_says_its_value_and_is_no_worse_than_greedy(problem):
    told = []

    plan = make_plan(problem, Effort(iterations=20, rounds=2), lambda _, value: (told.append(value), True)[1])

    assert faults(problem, plan) == []
    assert plan.value(problem) == pytest.approx(by_hand(problem, plan), abs=1e-6)
    assert plan.value(problem) >= told[0] - 0.01
    assert told[-1] == pytest.approx(plan.value(problem), abs=0.01)
    assert np.diff(told).min(initial=0.0) >= -0.01
