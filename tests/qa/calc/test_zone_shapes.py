"""Areas of zones on outlines of any shape, and weights in any order."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.calc.counts import EDGE_STRIP_M, Zone
from qa.calc.outlines import SurfacePlan
from qa.calc.zones import weights_of, zone_areas_m2

SIDES = st.floats(0.5, 200.0)
EDGES = st.sets(st.integers(0, 3)).map(lambda found: tuple(sorted(found)))
AREAS = {Zone.EDGE: 75.0, Zone.LOW: 12.5, Zone.INTERIOR: 912.5}


def yard(width, depth, x=0.0, y=0.0):
    return ((x, y), (x + width, y), (x + width, y + depth), (x, y + depth))


@given(
    width=SIDES,
    depth=SIDES,
    edges=EDGES,
    share=st.tuples(st.floats(0, 1), st.floats(0, 1)),
    low=st.booleans(),
)
def test_the_zones_of_a_yard_are_its_area_and_none_is_less_than_nothing(width, depth, edges, share, low):
    point = (share[0] * width, share[1] * depth) if low else None

    areas = zone_areas_m2(SurfacePlan(yard(width, depth), edges, point))

    assert sum(areas.values()) == pytest.approx(width * depth)
    assert min(areas.values()) >= 0.0
    assert areas[Zone.LOW] <= 4 * pi


@given(width=st.floats(8.0, 200.0), depth=st.floats(8.0, 200.0), edges=EDGES)
def test_strips_along_some_sides_take_their_length_less_the_corners_they_share(width, depth, edges):
    lengths = (width, depth, width, depth)
    corners = sum((edge + 1) % 4 in edges for edge in edges)

    areas = zone_areas_m2(SurfacePlan(yard(width, depth), edges))

    strips = sum(lengths[edge] for edge in edges) * EDGE_STRIP_M
    assert areas[Zone.EDGE] == pytest.approx(strips - corners * EDGE_STRIP_M**2, rel=1e-6)


@given(width=SIDES, depth=SIDES, x=st.floats(-1e3, 1e3), y=st.floats(-1e3, 1e3), edges=EDGES)
def test_where_the_corner_of_the_record_lies_changes_no_area(width, depth, x, y, edges):
    here, there = (
        zone_areas_m2(SurfacePlan(corners, edges))
        for corners in (yard(width, depth), yard(width, depth, x, y))
    )

    assert there == pytest.approx(here, rel=1e-4, abs=1e-4)


def test_a_path_narrower_than_its_strip_is_edge_all_over():
    areas = zone_areas_m2(SurfacePlan(yard(30.0, 1.2), (0,)))

    assert areas == pytest.approx({Zone.EDGE: 36.0, Zone.LOW: 0.0, Zone.INTERIOR: 0.0})


def test_the_order_of_the_corners_changes_no_area():
    """The same yard round the other way: side 0 becomes side 2."""
    corners = yard(50.0, 20.0)

    forward = zone_areas_m2(SurfacePlan(corners, (0,), (10.0, 5.0)))
    backward = zone_areas_m2(SurfacePlan(tuple(reversed(corners)), (2,), (10.0, 5.0)))

    assert backward == pytest.approx(forward)


def test_a_yard_with_a_notch_counts_what_lies_inside_it():
    """An L of 10 by 10 less 4 by 4: beside the notch's side 4 m by 1.5 m, and half a disc round its corner."""
    corners = ((0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (6.0, 6.0), (6.0, 10.0), (0.0, 10.0))

    areas = zone_areas_m2(SurfacePlan(corners, (2,)))

    assert sum(areas.values()) == pytest.approx(84.0)
    half_disc = pi * EDGE_STRIP_M**2 / 2
    assert areas[Zone.EDGE] == pytest.approx(4.0 * EDGE_STRIP_M + half_disc, rel=1e-3)


def test_a_low_point_beside_the_yard_takes_the_part_of_its_circle_that_is_inside():
    areas = zone_areas_m2(SurfacePlan(yard(50.0, 20.0), (), (25.0, -3.0)))

    assert areas[Zone.LOW] == 0.0
    assert areas[Zone.INTERIOR] == pytest.approx(1000.0)


@given(st.lists(st.sampled_from(list(Zone)), min_size=1, max_size=12), st.randoms())
def test_a_weight_goes_with_its_spot_in_whatever_order_they_stand(zones, random):
    by_spot = list(zip(zones, weights_of(zones, AREAS), strict=True))
    turned = by_spot.copy()
    random.shuffle(turned)

    assert weights_of([zone for zone, _ in turned], AREAS) == [weight for _, weight in turned]


@given(st.lists(st.sampled_from([*Zone, None]), max_size=8))
def test_one_spot_of_no_known_zone_makes_all_alike(zones):
    weights = weights_of([*zones, None], AREAS)

    assert weights == [1.0] * (len(zones) + 1)


def test_a_round_without_spots_has_no_weights():
    assert weights_of([], AREAS) == []
    assert weights_of([], None) == []


@pytest.mark.parametrize(
    ("zones", "weights"),
    [
        ([Zone.LOW], [12.5]),
        ([Zone.EDGE, Zone.EDGE, Zone.EDGE], [25.0, 25.0, 25.0]),
        ([Zone.EDGE, Zone.INTERIOR, Zone.EDGE], [37.5, 912.5, 37.5]),
        ([Zone.LOW, Zone.EDGE, Zone.INTERIOR, Zone.INTERIOR], [12.5, 75.0, 456.25, 456.25]),
    ],
)
def test_spots_of_a_zone_share_its_area(zones, weights):
    assert weights_of(zones, AREAS) == pytest.approx(weights)
