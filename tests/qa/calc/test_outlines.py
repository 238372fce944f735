"""Outlines that people draw, held against shapely (GEOS) as a second way to the same answers."""

import re
from itertools import combinations
from math import cos, inf, nan, pi, sin

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.geometry import LinearRing, LineString, Polygon

from core.calc.units import UnitSystem
from core.errors import ImpossibleRecordError
from qa.calc.counts import EDGE_STRIP_M, LOW_SPOT_RADIUS_M, RING_CLEARANCE_M, Zone, choose_spots
from qa.calc.outlines import (
    SAME_PLACE_M,
    FaultKind,
    SurfacePlan,
    area_off_m2,
    coordinate_text,
    distance_m,
    fault_of,
    fault_words,
    is_inside,
    outline_area_m2,
    refuse_bad_plan,
    refuse_outside,
    sides_of,
)

YARD = ((0, 0), (40, 0), (40, 25), (0, 25))
BOW_TIE = ((0, 0), (10, 10), (10, 0), (0, 10))

# On a small grid crossings, touches, folds and lines over each other are common, and all of it is exact.
GRID_POINT = st.tuples(st.integers(0, 6), st.integers(0, 6)).map(lambda p: (float(p[0]), float(p[1])))
GRID_OUTLINES = st.lists(GRID_POINT, min_size=3, max_size=9).map(tuple)
MEASURE = st.floats(-200, 200).map(lambda value: round(value, 2))
FREE_OUTLINES = st.lists(st.tuples(MEASURE, MEASURE), min_size=3, max_size=12).map(tuple)


def goes_round_once(outline):
    """By GEOS: a closed line that neither crosses nor touches itself, without a repeated corner."""
    repeated = any(p == q for p, q in combinations(outline, 2))
    return not repeated and LinearRing(outline).is_simple and Polygon(outline).is_valid


def side(outline, number):
    return LineString(sides_of(outline)[number - 1])


@given(outline=GRID_OUTLINES)
def test_on_a_grid_an_outline_is_refused_exactly_where_geos_finds_it_not_simple(outline):
    assert (fault_of(outline) is None) == goes_round_once(outline)


@given(outline=GRID_OUTLINES)
def test_the_sides_that_are_named_come_together_at_the_place_that_is_named(outline):
    fault = fault_of(outline)
    assume(fault is not None and fault.kind in (FaultKind.CROSS, FaultKind.TOUCH, FaultKind.OVERLAP))

    first, second = (side(outline, number) for number in fault.numbers)

    for place in map(shapely.Point, fault.at):
        assert max(first.distance(place), second.distance(place)) < 1e-9
    shared = first.intersection(second)
    if fault.kind is FaultKind.OVERLAP:
        assert shared.length == pytest.approx(shapely.Point(fault.at[0]).distance(shapely.Point(fault.at[1])))
    else:
        assert shared.geom_type == "Point"
        inside_both = all(line.boundary.distance(shared) > 1e-9 for line in (first, second))
        assert inside_both == (fault.kind is FaultKind.CROSS)


@given(outline=FREE_OUTLINES)
def test_measured_outlines_are_refused_where_geos_finds_them_not_simple_or_a_millimetre_from_it(outline):
    fault = fault_of(outline)

    if fault is None:
        assert goes_round_once(outline)
    else:
        assert not goes_round_once(outline) or is_nearly_not_simple(outline)


def is_nearly_not_simple(outline):
    """By GEOS: some corner lies within a millimetre of a side that does not end in it."""
    lines = [LineString(one) for one in sides_of(outline) if one[0] != one[1]]
    return any(
        line.distance(shapely.Point(corner)) <= SAME_PLACE_M + 1e-9
        for corner in outline
        for line in lines
        if corner not in line.coords
    ) or any(shapely.Point(p).distance(shapely.Point(q)) <= SAME_PLACE_M for p, q in combinations(outline, 2))


@given(
    radii=st.lists(st.floats(2, 100), min_size=3, max_size=24),
    turned=st.booleans(),
    shift=st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
)
def test_a_star_seen_from_its_middle_is_never_refused_whichever_way_and_wherever_it_lies(
    radii, turned, shift
):
    step = 2 * pi / len(radii)
    outline = [(shift[0] + r * cos(i * step), shift[1] + r * sin(i * step)) for i, r in enumerate(radii)]

    assert fault_of(outline[::-1] if turned else outline) is None


@given(outline=GRID_OUTLINES, start=st.integers(0, 8), turned=st.booleans())
def test_a_fault_does_not_hang_on_where_the_outline_begins_or_which_way_it_goes(outline, start, turned):
    start %= len(outline)
    other = (*outline[start:], *outline[:start])[:: -1 if turned else 1]

    assert (fault_of(other) is None) == (fault_of(outline) is None)


def test_a_bow_tie_is_told_with_its_sides_and_the_place_that_geos_names():
    fault = fault_of(BOW_TIE)

    x, y = re.match(
        r"Self-intersection\[([\d.]+) ([\d.]+)\]", shapely.is_valid_reason(Polygon(BOW_TIE))
    ).groups()
    assert (fault.kind, fault.numbers) == (FaultKind.CROSS, (1, 3))
    assert fault.at == ((float(x), float(y)),) == ((5.0, 5.0),)


ONCE = "An outline goes round the surface once: check the corners of both sides and their order."


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        (BOW_TIE, f"Sides 1 and 3 cross at 5 m, 5 m. {ONCE}"),
        (((0, 0), (1, 0)), "An outline needs 3 corners or more, got 2. Draw the surface again."),
        ((), "An outline needs 3 corners or more, got 0. Draw the surface again."),
        (((0, 0), (5, 0), (9, 0)), "The outline has no area: its corners lie on one line. Check them."),
        (((0, 0), (5, 0), (nan, 5)), "Corner 3 of the outline is not a number. Enter its x and y again."),
        (((0, 0), (5, inf), (5, 5)), "Corner 2 of the outline is not a number. Enter its x and y again."),
        (
            ((0, 0), (8, 0), (8, 0), (8, 5)),
            "Corners 2 and 3 lie on each other at 8 m, 0 m. Remove one of them.",
        ),
        (
            (*YARD, (0, 0)),
            "Corners 1 and 5 lie on each other at 0 m, 0 m. The outline closes by itself: remove the last corner.",
        ),
        (
            ((0, 0), (5, 5), (10, 0), (10, 10), (5, 5), (0, 10)),
            "Corners 2 and 5 lie on each other at 5 m, 5 m. An outline passes no place twice: move one of them, "
            "or enter the parts as surfaces of their own.",
        ),
        (
            ((0, 0), (10, 0), (10, 10), (5, 0), (0, 10)),
            f"Sides 1 and 3 touch at 5 m, 0 m. {ONCE}",
        ),
        (
            ((0, 0), (10, 0), (4, 0), (4, 6)),
            f"Sides 1 and 2 lie on each other from 10 m, 0 m to 4 m, 0 m. {ONCE}",
        ),
        (
            ((4, 0), (4, 6), (0, 0), (10, 0)),
            f"Sides 3 and 4 lie on each other from 10 m, 0 m to 4 m, 0 m. {ONCE}",
        ),
        (
            ((10, 0), (4, 0), (4, 6), (0, 0)),
            f"Sides 1 and 4 lie on each other from 10 m, 0 m to 4 m, 0 m. {ONCE}",
        ),
        (
            ((0, 0), (10, 0), (10, 5), (8, 0), (2, 0), (0, 5)),
            f"Sides 1 and 4 lie on each other from 8 m, 0 m to 2 m, 0 m. {ONCE}",
        ),
        (
            ((0, 0), (10, 0), (12, 5), (12, -5), (8, 0), (8, -9), (0, -9)),
            f"Sides 1 and 4 touch at 8 m, 0 m. {ONCE}",
        ),
        (
            ((0, 0), (10, 0), (10, 8), (5, 8), (5, -0.004)),
            f"Sides 1 and 4 cross at 5 m, 0 m. {ONCE}",
        ),
    ],
)
def test_what_is_wrong_is_said_with_where_it_is_and_what_to_do(outline, words):
    assert fault_words(fault_of(outline), len(outline)) == words


def test_a_stretch_that_two_sides_share_is_told_before_the_places_where_others_touch_it():
    notched = fault_of(((0, 0), (10, 0), (12, 4), (8, 0), (2, 0), (0, 4)))
    beyond = fault_of(((0, 0), (10, 0), (15, 5), (15, 0), (-5, 0), (-5, -5)))

    assert (notched.kind, notched.numbers, set(notched.at)) == (FaultKind.OVERLAP, (1, 4), {(8, 0), (2, 0)})
    assert (beyond.kind, beyond.numbers, set(beyond.at)) == (FaultKind.OVERLAP, (1, 4), {(0, 0), (10, 0)})


def test_a_reader_of_us_units_is_told_the_place_in_feet():
    bow_tie_ft = tuple((x * 0.3048, y * 0.3048) for x, y in BOW_TIE)

    words = fault_words(fault_of(bow_tie_ft), 4, UnitSystem.US)

    assert words.startswith("Sides 1 and 3 cross at 5 ft, 5 ft.")


@pytest.mark.parametrize(("gap_m", "refused"), [(0.0009, True), (0.0011, False)])
def test_a_gap_of_a_millimetre_is_a_gap_and_less_is_a_touch(gap_m, refused):
    notched = ((0, 0), (10, 0), (10, 10), (5, gap_m), (0, 10))

    assert (fault_of(notched) is not None) == refused


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (5.0, "5"),
        (12.345, "12.35"),
        (0.125, "0.13"),
        (-0.001, "0"),
        (-0.25, "-0.25"),
        (9999.999, "10000"),
        (100.0, "100"),
    ],
)
def test_a_coordinate_reads_to_the_hundredth_without_padding(value, text):
    assert coordinate_text(value) == text


@given(outline=GRID_OUTLINES, p=GRID_POINT, off=st.tuples(st.floats(-0.4, 0.4), st.floats(-0.4, 0.4)))
def test_a_point_is_inside_where_geos_has_the_area_cover_it(outline, p, off):
    assume(fault_of(outline) is None)
    area = Polygon(outline)
    moved = (p[0] + off[0], p[1] + off[1])
    assume(area.boundary.distance(shapely.Point(moved)) > 2 * SAME_PLACE_M)

    assert is_inside(outline, p) == area.covers(shapely.Point(p))
    assert is_inside(outline, moved) == area.covers(shapely.Point(moved))


@given(outline=GRID_OUTLINES)
def test_the_area_is_that_of_geos(outline):
    assume(fault_of(outline) is None)

    assert outline_area_m2(outline) == pytest.approx(Polygon(outline).area)


@given(a=GRID_POINT, b=GRID_POINT, p=st.tuples(st.floats(-9, 9), st.floats(-9, 9)))
def test_the_distance_to_a_side_is_that_of_geos(a, b, p):
    assume(a != b)

    assert distance_m(p, (a, b)) == pytest.approx(LineString((a, b)).distance(shapely.Point(p)), abs=1e-12)


LONG = ((0.0, 0.0), (60.0, 0.0), (60.0, 12.0), (30.0, 12.0), (30.0, 30.0), (0.0, 30.0))


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_chosen_spots_keep_by_geos_their_zone_their_distance_and_clear_of_the_sides(seed, system):
    plan = SurfacePlan(LONG, run_on_edges=(0, 5), low_point=(50.0, 8.0))

    spots = choose_spots(plan, 9, seed, system=system)

    area, places = Polygon(LONG), [shapely.Point(s.x_m, s.y_m) for s in spots]
    run_on = shapely.union_all([side(LONG, 1), side(LONG, 6)])
    low = shapely.Point(plan.low_point)
    least = {UnitSystem.SI: 1.0, UnitSystem.US: 0.9144}[system]
    assert all(area.contains(place) for place in places)
    assert all(area.boundary.distance(place) >= RING_CLEARANCE_M - 0.01 for place in places)
    assert min(p.distance(q) for p, q in combinations(places, 2)) >= least
    for spot, place in zip(spots, places, strict=True):
        if spot.zone is Zone.EDGE:
            assert run_on.distance(place) <= EDGE_STRIP_M + 0.01
        elif spot.zone is Zone.LOW:
            assert low.distance(place) <= LOW_SPOT_RADIUS_M + 0.01
        else:
            assert run_on.distance(place) > EDGE_STRIP_M - 0.01
            assert low.distance(place) > LOW_SPOT_RADIUS_M - 0.01


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        (SurfacePlan(BOW_TIE), "Sides 1 and 3 cross at 5 m, 5 m"),
        (SurfacePlan(YARD, run_on_edges=(4,)), "Side 5 does not exist; the outline has sides 1 to 4"),
        (SurfacePlan(YARD, run_on_edges=(-1,)), "Side 0 does not exist"),
        (SurfacePlan(YARD, low_point=(41, 5)), "The low point at 41 m, 5 m lies outside the outline"),
        (SurfacePlan(YARD, low_point=(nan, 5)), "The low point has a position that is not a number"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(plan, message):
    with pytest.raises(ImpossibleRecordError, match=message):
        refuse_bad_plan(plan)


@pytest.mark.parametrize("corner", YARD)
def test_a_low_point_in_a_corner_or_on_a_side_is_on_the_surface(corner):
    refuse_bad_plan(SurfacePlan(YARD, low_point=corner))
    refuse_bad_plan(SurfacePlan(YARD, low_point=(20.0, 0.0)))


@pytest.mark.parametrize(
    ("spot", "message"),
    [
        ((50.0, 3.0), "Location B at 50 m, 3 m lies outside the outline"),
        ((20.0, -0.01), "Location B at 20 m, -0.01 m lies outside the outline"),
        ((nan, 3.0), "Location B has a position that is not a number"),
        ((3.0, inf), "Location B has a position that is not a number"),
    ],
)
def test_a_spot_outside_or_without_a_number_is_refused_by_its_name(spot, message):
    with pytest.raises(ImpossibleRecordError, match=message):
        refuse_outside(YARD, {"Location A": (1.0, 1.0), "Location B": spot})


@pytest.mark.parametrize(
    ("recorded_m2", "off"), [(1000, None), (910, None), (908, 1000), (1111, None), (1112, 1000)]
)
def test_an_area_that_is_more_than_a_tenth_off_the_recorded_one_is_told(recorded_m2, off):
    assert area_off_m2(YARD, recorded_m2) == off
