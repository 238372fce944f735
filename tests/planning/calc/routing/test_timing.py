"""Drives, times and gaps of a day, each held to a plain way to the same: vectors to the places, and trying it out."""

from dataclasses import replace
from itertools import combinations
from math import atan2, ceil, cos, inf, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from planning.calc.routing.check import faults
from planning.calc.routing.problem import CrewTime, Problem, Shift
from planning.calc.routing.several_days import blocks_of, place_blocks
from planning.calc.routing.timetable import Timetable, greedy
from planning.calc.routing.timing import Day, latest_begins, route_of, schedule
from planning.calc.routing.travel import (
    EARTH_KM,
    ROAD_FACTOR,
    SETTING_UP_MIN,
    great_circle_km,
    minutes_of,
    money_of,
    road_km,
)
from planning.calc.routing.windows import Effort, make_plan
from tests.planning.calc.routing.town import DAY, crew, line, order, town

PLACES = st.lists(st.tuples(st.floats(-90, 90), st.floats(-180, 180)), min_size=2, max_size=5)
FEW = hypothesis_settings(max_examples=40)


def km_between(one, other):
    """By the vectors to two points: the angle between them, which atan2 keeps near and far."""
    a, b = (
        np.array(
            [cos(radians(lat)) * cos(radians(lon)), cos(radians(lat)) * sin(radians(lon)), sin(radians(lat))]
        )
        for lat, lon in (one, other)
    )
    return EARTH_KM * atan2(sqrt(float(np.cross(a, b) @ np.cross(a, b))), float(a @ b))


@FEW
@given(PLACES)
def test_great_circles_are_the_angles_between_the_points(places):
    km = great_circle_km(*zip(*places, strict=True))

    for i, one in enumerate(places):
        for j, other in enumerate(places):
            assert km[i, j] == pytest.approx(km_between(one, other), abs=2e-3)


@pytest.mark.parametrize(
    ("one", "other", "km"),
    [
        ((0.0, 0.0), (90.0, 0.0), pi / 2 * EARTH_KM),  # a quarter of a meridian
        ((0.0, 0.0), (0.0, 180.0), pi * EARTH_KM),  # to the other side of the Earth
        ((52.0, 179.9), (52.0, -179.9), 0.2 * pi / 180 * EARTH_KM * cos(radians(52.0))),  # over the date line
        ((60.0, 10.0), (60.0, 10.0), 0.0),
    ],
    ids=["quarter", "half", "date line", "here"],
)
def test_great_circles_whose_length_is_plain(one, other, km):
    found = great_circle_km(*zip(one, other, strict=True))

    assert found[0, 1] == found[1, 0] == pytest.approx(km, abs=1e-3)
    assert road_km(*zip(one, other, strict=True))[0, 1] == pytest.approx(ROAD_FACTOR * km, abs=2e-3)


@FEW
@given(PLACES)
def test_a_drive_takes_whole_minutes_and_none_within_a_place(places):
    km = road_km(*zip(*places, strict=True))

    minutes = minutes_of(km, 50.0)

    for here, there in np.ndindex(km.shape):
        expected = ceil(60.0 * km[here, there] / 50.0) + SETTING_UP_MIN if km[here, there] > 0.0 else 0
        assert minutes[here, there] == expected
    assert money_of(km, minutes, 0.5, 60.0) == pytest.approx(0.5 * km + minutes)


ORDERS = st.lists(
    st.tuples(
        st.integers(1, 6),
        st.integers(5, 200),
        st.integers(480, 800),
        st.integers(60, 480),
        st.integers(0, 60),
    ),
    max_size=4,
)


def orders_of(drawn):
    """Orders at places of the line with hours in which each may be done, and what its crew costs beyond the usual."""
    return [
        order(str(i), place, minutes, opens=opens, closes=opens + open_for, costs={0: float(cost)})
        for i, (place, minutes, opens, open_for, cost) in enumerate(drawn)
    ]


def day_of(orders):
    return Day(0, 0, DAY, 0, list(orders))


def begun_late(problem, day, at, minute):
    """The same day with one stop that may not begin before a minute."""
    orders = list(day.orders)
    orders[at] = replace(orders[at], opens=max(orders[at].opens, minute))
    return schedule(problem, day_of(orders))


@FEW
@given(ORDERS)
def test_stops_follow_the_drive_and_the_hours_and_begin_as_early_as_both_let_them(drawn):
    orders = orders_of(drawn)
    problem = town(orders)

    stops = schedule(problem, day_of(orders))

    clock, at, fits = DAY.start, 0, True
    for i, each in enumerate(orders):
        clock += 10 * abs(each.place - at)
        begins = max(clock, each.opens)
        clock, at = begins + each.minutes[0], each.place
        fits = fits and clock <= each.closes
        if stops is not None:
            assert (stops[i].begins, stops[i].ends) == (begins, clock)
    assert (stops is not None) == (fits and clock + 10 * at <= DAY.end)


@FEW
@given(ORDERS)
def test_a_stop_may_begin_so_late_and_not_a_minute_later(drawn):
    orders = orders_of(drawn)
    problem, day = town(orders), day_of(orders)
    stops = schedule(problem, day)

    latest = latest_begins(problem, day)

    if stops is not None:
        for at, stop in enumerate(stops):
            assert stop.begins <= latest[at]
            assert begun_late(problem, day, at, latest[at]) is not None
            assert begun_late(problem, day, at, latest[at] + 1) is None


def test_a_route_leaves_as_late_as_its_first_stop_lets_it_and_is_refused_where_it_does_not_fit():
    late = order("a", 3, 60, opens=700)
    problem = town([late, order("b", 9, 400)])

    route = route_of(problem, day_of([late]))

    assert (route.leaves, route.returns, route.travel_min, route.travel_cost) == (670, 790, 60, 60.0)
    with pytest.raises(ValueError, match="Crew 0 cannot do all of day 0"):
        route_of(problem, day_of(problem.orders))


def tried(problem, day, new, gap):
    """Money that an order adds in a gap by putting it there and counting anew; infinite where it does not fit."""
    orders = [*day.orders[:gap], new, *day.orders[gap:]]
    if schedule(problem, day_of(orders)) is None:
        return inf
    added = problem.away_cost(0, day_of(orders).places) - problem.away_cost(0, day.places)
    return added + new.costs.get(0, 0.0)


@FEW
@given(ORDERS, st.integers(0, 40))
def test_what_an_order_adds_in_every_gap_is_what_trying_it_there_costs(drawn, arrival_cost):
    *there, new = orders_of([*drawn, (3, 45, 480, 480, 25)])
    crews = [crew(days=(0,), km_cost=0.7, hour_cost=40.0)]
    problem = town([*there, new], crews, arrival_cost=float(arrival_cost))
    table = Timetable(problem)
    if not table.lay(0, there):
        return

    added = table.added_cost(new, *table.open_to(new))[0]

    expected = [tried(problem, table.days[0], new, gap) for gap in range(len(there) + 1)]
    assert added[: len(there) + 1].tolist() == pytest.approx(expected)
    assert np.isinf(added[len(there) + 1 :]).all()
    best = table.best_gap(new)
    assert best is None if min(expected) == inf else best[0] == pytest.approx(min(expected))


@FEW
@given(ORDERS)
def test_the_longest_free_time_is_found_and_a_minute_more_fits_nowhere(drawn):
    there = orders_of(drawn)
    probe = order("probe", 4, 1, days=(0,), closes=900)
    problem = town([*there, probe], [crew(days=(0,))])
    table = Timetable(problem)
    if not table.lay(0, there):
        return

    room = table.room(probe)

    fitting = replace(probe, minutes={0: room}, key="fits")
    longer = replace(probe, minutes={0: room + 1}, key="longer")
    gaps = range(len(there) + 1)
    assert not room or any(tried(problem, table.days[0], fitting, gap) < inf for gap in gaps)
    assert all(tried(problem, table.days[0], longer, gap) == inf for gap in gaps)


def test_what_does_not_fit_leaves_the_day_as_it_was():
    long, short = order("long", 2, 450), order("short", 1, 30)
    table = Timetable(town([long, short], [crew(days=(0,))]))

    assert not table.lay(0, [long])  # 450 minutes and 40 of driving in 480
    assert table.lay(0, [short])
    assert not table.squeeze(long, 0)
    assert not table.put(long)
    assert table.plan().left == ("long",)
    assert table.at == {"short": 0}


@pytest.mark.parametrize(("minutes", "fits"), [(440, True), (441, False)])
def test_a_day_is_filled_to_its_last_minute_and_not_beyond(minutes, fits):
    """Eight hours, of which the drive there and back takes 40 minutes."""
    table = Timetable(town([order("a", 2, minutes)], [crew(days=(0,))]))

    assert (table.best_gap(table.problem.orders[0]) is not None) is fits
    assert table.put(table.problem.orders[0]) is fits


def test_a_closed_day_takes_nothing():
    table = Timetable(town([order("a", 0, 1)], [crew(days=(0,))]))
    table.close(0)

    assert table.best_gap(table.problem.orders[0]) is None


def test_work_that_costs_more_than_it_is_worth_is_left_unless_it_was_settled():
    dear, settled = order("dear", 9, worth=100.0), order("settled", 9, worth=0.0, fixed=(0, 1))
    table = Timetable(town([dear]))
    fixed = Timetable(town([settled]))

    assert not table.put(dear)  # 180 of driving
    assert fixed.put(settled)


@FEW
@given(ORDERS)
def test_the_first_plan_holds(drawn):
    problem = town(orders_of(drawn))

    assert faults(problem, greedy(problem).plan()) == []


# ---- Work of several days ------------------------------------------------------------------------


def several(key, place=1, minutes=300, whole_days=2, **changes):
    return order(key, place, minutes, range(6), 5000.0, whole_days=whole_days, **changes)


def test_a_short_day_between_two_long_ones_is_one_of_the_row():
    """Work on two days in a row does not jump over a Friday on which the crew stops at noon."""
    shifts = {0: DAY, 1: Shift(480, 600), 2: DAY, 3: DAY}
    problem = town([several("big")], [CrewTime("one", 0, shifts)])

    plan = make_plan(problem, Effort(iterations=20, rounds=2))

    assert [block.days for block in blocks_of(problem, problem.orders[0])] == [(2, 3)]
    assert faults(problem, plan) == []
    assert sorted(route.day for route in plan.routes) == [2, 3]


@pytest.mark.parametrize(
    ("changes", "days"),
    [
        ({}, [(0, 1), (1, 4), (4, 5)]),
        ({"days": frozenset({1})}, [(1, 4)]),
        ({"fixed": (0, 4)}, [(4, 5)]),
        ({"whole_days": 4}, [(0, 1, 4, 5)]),
        ({"whole_days": 5}, []),
        ({"closes": 780}, []),  # the drive there and 300 minutes end at 790
        ({"minutes": {0: 461}}, []),  # with 20 of driving a minute more than the shift
    ],
    ids=["any", "begun on one", "settled", "all", "too many", "site closes", "too long"],
)
def test_every_way_to_place_it_is_found(changes, days):
    """Working days 0, 1, 4 and 5: a weekend between two of them is none of the row."""
    work = replace(several("big"), **changes)
    problem = town([work], [crew(days=(0, 1, 4, 5))])

    assert [block.days for block in blocks_of(problem, work)] == days


BLOCKS = st.lists(
    st.tuples(st.integers(1, 8), st.integers(1, 3), st.integers(0, 900)), min_size=1, max_size=3
)


@hypothesis_settings(max_examples=25)
@given(BLOCKS, st.integers(0, 200))
def test_placed_together_they_are_worth_most_of_all_ways(drawn, day_worth):
    """Every set of blocks that share no order and no day of the crew, counted out."""
    orders = [
        replace(several(str(i), place, whole_days=days), worth=float(worth))
        for i, (place, days, worth) in enumerate(drawn)
    ]
    problem = town(orders, [crew(days=(0, 1, 2, 3))])

    placed = place_blocks(problem, orders, float(day_worth))

    blocks = [block for each in orders for block in blocks_of(problem, each)]
    sets = [chosen for n in range(len(orders) + 1) for chosen in combinations(blocks, n) if apart(chosen)]
    best = max(worth_of(problem, chosen, day_worth) for chosen in sets)
    assert apart(placed)
    assert worth_of(problem, placed, day_worth) == pytest.approx(best, abs=1e-3 * max(1.0, abs(best)))


def apart(blocks):
    days = [(block.crew, day) for block in blocks for day in block.days]
    return len(set(days)) == len(days) and len({block.order.key for block in blocks}) == len(blocks)


def worth_of(problem: Problem, blocks, day_worth):
    """Worth less, for each day, the trip there and back and what the day brings otherwise."""
    return sum(b.order.worth - len(b.days) * (2 * 10 * b.order.place + day_worth) for b in blocks)


def test_nothing_of_several_days_is_nothing_placed():
    assert place_blocks(town([]), [], 100.0) == []
    assert line(3)[0].tolist() == [0, 10, 20]
