"""Tests stand beside their cleaning, nothing is done on a surface that cures, one trip is made rather than three."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.calc.routing.check import faults
from planning.calc.routing.problem import DAY_MIN, Side, Tie
from planning.calc.routing.reasons import Why, reasons
from planning.calc.routing.windows import Effort, make_plan
from tests.planning.calc.routing.town import crew, order, town

QUICK = Effort(iterations=20, rounds=2)
FIVE = tuple(range(5))


def before(key="clean", **changes):
    return Tie(key, Side.BEFORE, **changes)


def after(key="clean", **changes):
    return Tie(key, Side.AFTER, **changes)


def when(plan):
    """Day and beginning of everything in a plan."""
    return {stop.key: (route.day, stop.begins) for route in plan.routes for stop in route.stops}


def why(problem, plan):
    return {left.key: left.why for left in reasons(problem, plan)}


def planned(problem, effort=QUICK):
    plan = make_plan(problem, effort)
    assert faults(problem, plan) == []
    return plan


def test_a_test_before_the_cleaning_and_a_test_after_are_one_trip_in_that_order():
    problem = town(
        [
            order("after", 3, 40, worth=0.0, tie=after()),
            order("clean", 3, 120),
            order("before", 3, 30, worth=0.0, tie=before()),
        ]
    )

    (route,) = planned(problem).routes

    assert [(s.key, s.ends - s.begins) for s in route.stops] == [
        ("before", 30),
        ("clean", 120),
        ("after", 40),
    ]
    assert all(here.ends == there.begins for here, there in zip(route.stops, route.stops[1:], strict=False))


def test_only_a_crew_that_can_do_all_of_it_is_sent_and_takes_its_own_time_for_each_part():
    crews = [crew(days=(0,)), crew("two", days=(0,))]
    clean = replace(order("clean", 3, 120, days=(0,)), minutes={0: 50, 1: 120})
    problem = town([clean, order("after", 3, 40, days=(0,), worth=0.0, crews=(1,), tie=after())], crews)

    (route,) = planned(problem).routes

    assert route.crew == 1
    assert [stop.ends - stop.begins for stop in route.stops] == [120, 40]


def test_the_tests_of_work_of_several_days_fall_before_and_after_it_within_their_days():
    crews = [crew(days=range(8)), crew("two", days=range(8))]
    clean = order("clean", 3, 400, days=(3, 4), worth=9000.0, crews=(0,), whole_days=3)
    problem = town(
        [
            clean,
            order("before", 3, 30, range(8), crews=(0, 1), tie=before(within=2)),
            order("after", 3, 30, range(8), crews=(0, 1), tie=after(within=1)),
        ],
        crews,
    )

    plan = planned(problem)

    found = when(plan)
    days = sorted(route.day for route in plan.routes if any(stop.key == "clean" for stop in route.stops))
    assert plan.left == ()
    assert found["before"][0] in (days[0] - 2, days[0] - 1)
    assert found["after"][0] == days[-1] + 1


def test_a_test_of_several_days_is_done_on_idle_days_after_its_cleaning():
    clean = order("clean", 3, 300, (0,), worth=3000.0, whole_days=2)
    test = order("after", 3, 400, FIVE, whole_days=2, tie=after())
    problem = town([clean, test, order("small", 2, 60, (2,))], [crew(days=FIVE)])

    plan = planned(problem)

    found = {day: [stop.key for stop in plan.route_of(0, day).stops] for day in FIVE}
    assert found == {0: ["clean"], 1: ["clean"], 2: ["small"], 3: ["after"], 4: ["after"]}


def test_a_test_waits_until_the_surface_has_cured():
    clean = order("clean", 3, 60, FIVE, ground="yard", cure_min=2 * DAY_MIN)
    problem = town([clean, order("after", 3, 30, FIVE, ground="yard", tie=after())], [crew(days=FIVE)])

    plan = planned(problem)

    found = when(plan)
    assert plan.left == ()
    assert found["after"][0] >= found["clean"][0] + 3


def test_other_work_on_a_surface_that_cures_is_done_before_or_waits_though_nothing_ties_it():
    clean = order("clean", 3, 60, (1,), worth=900.0, ground="yard", cure_min=DAY_MIN)
    look = order("look", 3, 30, (1, 2), ground="yard")
    problem = town([clean, look, order("far", 3, 30, (1, 2), ground="drive")], [crew(days=FIVE)])

    plan = planned(problem)

    assert when(plan)["far"][0] == 1
    assert why(problem, plan) == {"look": Why.AROUND}
    later = replace(problem, orders=[clean, replace(look, days=frozenset({1, 2, 3}))])
    assert when(planned(later))["look"][0] == 3


def test_a_test_that_is_only_for_the_cleaning_is_left_where_that_finds_no_place():
    clean = order("clean", 3, 60, worth=10.0)
    problem = town([clean, order("after", 3, 30, worth=1.0, tie=after())])

    plan = planned(problem)

    assert why(problem, plan) == {"clean": Why.DRIVE, "after": Why.NO_CLEANING}


def test_a_test_that_was_due_anyway_is_done_without_the_cleaning():
    clean = order("clean", 3, 60, worth=400.0, crews=())
    problem = town([clean, order("before", 3, 30, worth=200.0, tie=before(alone=True))])

    plan = planned(problem)

    assert list(when(plan)) == ["before"]
    assert why(problem, plan) == {"clean": Why.NO_CREW}


def test_where_all_of_it_is_too_long_for_a_day_the_tests_go_on_days_of_their_own():
    problem = town(
        [order("clean", 1, 440), order("after", 1, 60, worth=300.0, tie=after(within=3))], [crew(days=FIVE)]
    )

    found = when(planned(problem))

    assert found["after"][0] > found["clean"][0]


def test_a_cleaning_on_a_visit_keeps_its_day_and_its_test_is_done_on_the_same_trip():
    clean = order("clean", 3, 60, worth=0.0, fixed=(0, 1))
    problem = town([clean, order("after", 3, 30, worth=50.0, tie=after())])

    assert when(planned(problem)) == {"clean": (1, 510), "after": (1, 570)}


def test_where_the_day_of_the_visit_is_full_its_test_takes_another_day():
    clean = order("clean", 3, 200, worth=0.0, fixed=(0, 1))
    full = order("full", 3, 200, worth=0.0, fixed=(0, 1))
    problem = town([clean, full, order("after", 3, 90, worth=300.0, tie=after())])

    plan = planned(problem)

    assert plan.left == ()
    assert when(plan)["after"][0] == 2


def test_what_was_settled_for_a_day_on_which_the_surface_is_closed_is_named():
    clean = order("clean", 3, 60, worth=0.0, fixed=(0, 0), ground="yard", cure_min=2 * DAY_MIN)
    look = order("look", 3, 30, worth=0.0, fixed=(0, 1), ground="yard")
    problem = town([look, clean])

    plan = planned(problem)

    assert why(problem, plan) == {"look": Why.CLOSED}


def test_the_days_of_a_cleaning_that_cures_keep_clear_of_a_visit_that_is_settled():
    clean = order("clean", 3, 60, (0, 1, 2), ground="yard", cure_min=DAY_MIN)
    look = order("look", 3, 30, worth=0.0, fixed=(0, 1), ground="yard")

    assert when(planned(town([clean, look])))["clean"][0] == 2


def test_a_test_on_the_wrong_side_of_a_settled_cleaning_is_named():
    clean = order("clean", 3, 60, worth=0.0, fixed=(0, 1))
    test = order("after", 3, 30, worth=0.0, fixed=(0, 0), tie=after())
    problem = town([clean, test])

    assert why(problem, planned(problem)) == {"after": Why.CLOSED}


def test_a_tie_to_nothing_and_one_to_work_that_is_tied_itself_are_refused():
    with pytest.raises(ValueError, match="after is tied to clean"):
        town([order("after", 1, tie=after())])
    with pytest.raises(ValueError, match="b is tied to a"):
        town([order("clean", 1), order("a", 1, tie=after()), order("b", 1, tie=after("a"))])


def month_of_sites(tied):
    """Six sites with a test, a cleaning and a test each, open on different days of the same fortnight."""
    orders = []
    for site in range(1, 7):
        days = frozenset(range(site % 3, 10))
        for name, side in (("before", Side.BEFORE), ("clean", None), ("after", Side.AFTER)):
            tie = Tie(f"clean{site}", side) if side and tied else None
            orders.append(order(f"{name}{site}", site, 40, days, worth=300.0, tie=tie))
    crews = [crew(days=range(10)), crew("two", days=range(10))]
    return town(orders, crews)


def test_a_plan_with_ties_comes_to_each_site_once_and_not_three_times():
    tied, loose = month_of_sites(True), month_of_sites(False)
    apart = replace(
        loose, orders=[replace(o, days=frozenset({3 * i % 10})) for i, o in enumerate(loose.orders)]
    )

    assert site_trips(planned(tied), tied) == 6
    assert site_trips(planned(apart), apart) > 12


def test_an_arrival_that_costs_something_brings_work_at_one_site_on_to_one_trip():
    open_on = (frozenset({0, 1}), frozenset({1, 2}), frozenset({1, 3}))
    orders = [order(f"{site}{i}", site, 30, open_on[i]) for site in (1, 2, 3, 4) for i in range(3)]

    def trips(arrival_cost):
        problem = town(orders, [crew(days=FIVE, km_cost=0.0)], arrival_cost=arrival_cost)
        return site_trips(planned(problem, Effort(iterations=200, rounds=4)), problem)

    assert (trips(0.0), trips(25.0)) == (8, 4)


def site_trips(plan, problem):
    """How often a crew comes to a site: stops at one place in a row are one trip."""
    count = 0
    for route in plan.routes:
        places = [problem.by_key[stop.key].place for stop in route.stops]
        count += sum(here != before for before, here in zip([None, *places], places, strict=False))
    return count


SIDES = st.sampled_from([None, Side.BEFORE, Side.AFTER])
SITES = st.lists(
    st.tuples(
        st.integers(1, 9),
        st.integers(20, 300),
        st.sampled_from([0, 0, 2]),
        st.sampled_from([0, 0, 600, DAY_MIN, 3 * DAY_MIN]),
        st.frozensets(st.integers(0, 6), min_size=1),
        st.floats(0, 1500),
        st.sampled_from([None, None, None, (0, 1), (1, 2)]),
        st.lists(
            st.tuples(
                SIDES,
                st.integers(10, 90),
                st.floats(0, 300),
                st.booleans(),
                st.integers(1, 4),
                st.sampled_from([0, 0, 0, 2]),
            ),
            max_size=3,
        ),
    ),
    max_size=5,
)


def of_sites(sites):
    orders = []
    for i, (place, minutes, whole, cure, days, worth, fixed, beside) in enumerate(sites):
        key, ground = f"clean{i}", f"ground{i}"
        extra = {"whole_days": 0 if fixed else whole, "fixed": fixed, "ground": ground, "cure_min": cure}
        costs = {1: 40.0} if i % 2 else {}
        orders.append(order(key, place, minutes, days, worth, crews=(0, 1), costs=costs, **extra))
        for j, (side, test_min, test_worth, alone, within, days) in enumerate(beside):
            tie = None if side is None else Tie(key, side, within, alone)
            orders.append(
                order(
                    f"test{i}{j}",
                    place,
                    test_min,
                    range(7),
                    test_worth,
                    crews=(0, 1),
                    ground=ground,
                    tie=tie,
                    whole_days=days,
                )
            )
    crews = [crew(days=range(5), km_cost=1.5), crew("two", days=(0, 2, 3, 4, 6), depot=9, hour_cost=30.0)]
    return town(orders, crews, arrival_cost=7.0)


@settings(max_examples=60)
@given(SITES)
def test_every_plan_with_ties_and_cures_holds_and_leaves_nothing_that_fits_and_pays(sites):
    problem = of_sites(sites)

    plan = make_plan(problem, QUICK)

    assert faults(problem, plan) == []
    for left in reasons(problem, plan):
        worth = problem.by_key[left.key].worth
        assert left.why is not Why.DRIVE or left.added >= worth - 1e-6, left


@settings(max_examples=15)
@given(SITES)
def test_looking_longer_never_makes_a_plan_worse(sites):
    problem = of_sites(sites)

    quick, longer = (make_plan(problem, Effort(iterations=20, rounds=n)) for n in (0, 3))

    assert longer.value(problem) >= quick.value(problem) - 0.01
