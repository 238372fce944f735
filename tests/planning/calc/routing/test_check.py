"""The checker finds every way in which a plan can be wrong."""

from dataclasses import replace

import pytest

from planning.calc.routing.check import faults
from planning.calc.routing.problem import Plan, Route, Stop
from tests.planning.calc.routing.town import crew, order, town

PROBLEM = town(
    [order("a", 2), order("b", 3, opens=600, closes=700), order("c", 1, whole_days=2, minutes=300)]
)
A, B = Stop("a", 500, 560), Stop("b", 600, 660)
ROUTE = Route(0, 0, (A, B), 480, 690, 60, 60.0)


def of(*routes, left=("c",)):
    return faults(PROBLEM, Plan(tuple(routes), left))


def test_a_plan_that_holds_has_no_faults():
    assert of(ROUTE) == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"day": 5}, "does not work then"),
        ({"stops": (replace(A, begins=490, ends=550), B)}, "before the crew is there"),
        ({"stops": (replace(A, ends=550), B)}, "does not take 60 min"),
        ({"stops": (A, replace(B, begins=645, ends=705)), "returns": 735}, "lies outside 600 to 700"),
        ({"leaves": 470}, "the shift is 480 to 960"),
        ({"returns": 700}, "the shift is 480 to 960"),
        ({"travel_min": 50}, "not what is said"),
        ({"travel_cost": 59.0}, "not what is said"),
    ],
)
def test_a_route_that_cannot_be_is_found(changes, said):
    found = of(replace(ROUTE, **changes))

    assert any(said in fault for fault in found), found


def test_a_crew_that_cannot_do_the_work_is_found():
    problem = town([order("a", 2, crews=(1,))], [crew(), crew("two")])

    found = faults(problem, Plan((Route(0, 0, (A,), 480, 580, 40, 40.0),), ()))

    assert found == ["Crew 0 on day 0: it cannot do a."]


def test_two_routes_of_one_crew_on_a_day_are_found():
    first = Route(0, 0, (A,), 480, 580, 40, 40.0)
    second = Route(0, 0, (B,), 570, 690, 60, 60.0)

    assert of(first, second) == ["Crew 0 has 2 routes on day 0."]


def test_what_is_done_twice_left_and_done_or_forgotten_is_found():
    again = Route(0, 1, (A,), 480, 580, 40, 40.0)

    assert of(ROUTE, again) == ["a is done on 2 days."]
    assert of(ROUTE, left=("a", "c")) == ["a is both done and left."]
    assert of(ROUTE, left=()) == ["c is neither done nor left."]


def test_a_day_that_is_not_open_and_one_that_was_not_settled_are_found():
    route = Route(0, 0, (A,), 480, 580, 40, 40.0)
    for asked, said in (
        ({"days": (1,)}, "a is begun on day 0, which is not open to it."),
        ({"fixed": (0, 1)}, "a is settled for (0, 1), not crew 0 on day 0."),
    ):
        assert faults(town([order("a", 2, **asked)]), Plan((route,), ())) == [said]


def test_work_of_several_days_is_whole_and_on_days_in_a_row():
    problem = town([order("c", 1, whole_days=2, minutes=300)])
    days = [Route(0, day, (Stop("c", 490, 790),), 480, 800, 20, 20.0) for day in range(3)]

    assert faults(problem, Plan((days[0], days[1]), ())) == []
    assert faults(problem, Plan((days[0], days[2]), ())) == ["c is not done by one crew on days in a row."]
    assert "c is done on 1 days." in faults(problem, Plan((days[0],), ()))
