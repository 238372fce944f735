"""The same work booked into a diary as it comes, by hand on a line of places."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.calc.routing.first_free import Booked, booked
from planning.calc.routing.problem import Plan, Shift, Side, Tie
from planning.calc.routing.timing import can_do
from planning.calc.routing.windows import Effort, make_plan
from tests.planning.calc.routing.town import crew, order, town


def made(problem):
    return make_plan(problem, Effort(seed=1, iterations=40))


def test_work_is_driven_in_the_order_in_which_it_came_and_not_in_that_of_the_way():
    problem = town([order("a", 8), order("b", 1), order("c", 7)], [crew(km_cost=1.0, hour_cost=0.0)])

    plan, diary = made(problem), booked(problem, made(problem))

    assert sum(route.travel_min for route in plan.routes) == 160  # out and back
    assert diary == Booked(80 + 70 + 60 + 70, 280.0, 1, 0)  # 0 to 8, to 1, to 7, home


def test_each_goes_on_the_first_day_with_room():
    problem = town([order(str(i), 1, minutes=200) for i in range(3)])

    assert booked(problem, made(problem)).crew_days == 2  # two a day, the third on the next


def test_work_that_opens_later_is_booked_later():
    first, later = order("z", 1, days=(0,)), order("a", 9, days=(2,))
    problem = town([first, later])

    diary = booked(problem, made(problem))

    assert (diary.travel_min, diary.crew_days) == (20 + 180, 2)


def test_hours_of_a_site_are_kept():
    late, early = order("a", 1, opens=900, closes=970), order("b", 2, closes=570, days=(0, 1))
    problem = town([late, early], [crew(shift=Shift(480, 990))])
    plan = made(problem)

    assert len(plan.routes) == 1  # the plan goes to b first
    assert booked(problem, plan).crew_days == 2  # the diary has a at the end of the first day, and b after it


def test_what_finds_no_free_day_is_counted_piece_by_piece():
    beside = [order("before x", 8, 30, (0,), tie=Tie("x", Side.BEFORE)), order("x", 8, 30, (0,))]
    work = [order("a", 9, 30, (0,)), order("b", 1, 180, (0,)), *beside]
    problem = town(work, [crew(days=(0,), shift=Shift(480, 930))])
    plan = made(problem)

    assert not plan.left  # 270 minutes of work and 180 of driving out and back
    assert booked(problem, plan).unbooked == 2  # out to a and back to b: x is too far then, with its test


def test_a_cleaning_goes_with_the_tests_beside_it():
    parts = [order("c", 5), order("after c", 5, 30, tie=Tie("c", Side.AFTER))]
    problem = town([*parts, order("b", 1)])

    diary = booked(problem, made(problem))

    assert (diary.unbooked, diary.travel_min) == (0, 100)


def test_fixed_visits_and_work_of_several_days_stay():
    fixed = order("f", 3, fixed=(0, 2))
    long = order("l", 4, minutes=300, whole_days=2)
    problem = town([fixed, long])
    plan = made(problem)

    assert booked(problem, plan).travel_min == sum(route.travel_min for route in plan.routes)


def test_nothing_planned_is_nothing_booked():
    assert booked(town([]), Plan((), ())) == Booked(0, 0.0, 0, 0)


@given(
    st.lists(
        st.tuples(st.integers(1, 9), st.integers(20, 200), st.sets(st.integers(0, 2), min_size=1)),
        min_size=1,
        max_size=10,
    )
)
def test_every_piece_of_a_plan_is_booked_or_counted_as_not(work):
    problem = town(
        [order(str(i), place, minutes, tuple(days)) for i, (place, minutes, days) in enumerate(work)]
    )
    plan = made(problem)

    diary = booked(problem, plan)

    placed = sum(len(route.stops) for route in plan.routes)
    assert 0 <= diary.unbooked <= placed
    assert diary.crew_days <= 3
    assert (diary.travel_min > 0) == (placed > diary.unbooked)
    assert all(can_do(problem.by_key[s.key], r.crew, r.day) for r in plan.routes for s in r.stops)


@pytest.mark.parametrize("hour_cost", [0.0, 60.0])
def test_money_is_that_of_the_crew_that_drives(hour_cost):
    problem = town([order("a", 6)], [crew(km_cost=2.0, hour_cost=hour_cost)])

    assert booked(problem, made(problem)).travel_cost == 2.0 * 120 + hour_cost * 2
