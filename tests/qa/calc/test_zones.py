"""Areas of zones against figures worked out by hand, and the weights that spots get from them."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.calc.counts import Zone
from qa.calc.outlines import SurfacePlan
from qa.calc.zones import weights_of, zone_areas_m2

YARD = ((0.0, 0.0), (50.0, 0.0), (50.0, 20.0), (0.0, 20.0))


def test_the_strip_beside_a_run_on_side_is_its_length_by_1_5_m():
    areas = zone_areas_m2(SurfacePlan(YARD, (0,)))

    assert areas == pytest.approx({Zone.EDGE: 75.0, Zone.LOW: 0.0, Zone.INTERIOR: 925.0})


def test_two_strips_share_their_corner():
    areas = zone_areas_m2(SurfacePlan(YARD, (0, 1)))

    assert areas[Zone.EDGE] == pytest.approx(75.0 + 30.0 - 1.5 * 1.5, rel=1e-6)


def test_a_low_spot_is_a_circle_of_2_m_and_takes_what_it_shares_with_the_strip():
    inside = zone_areas_m2(SurfacePlan(YARD, (), (25.0, 10.0)))
    at_the_edge = zone_areas_m2(SurfacePlan(YARD, (0,), (25.0, 0.0)))

    assert inside[Zone.LOW] == pytest.approx(4 * pi, rel=1e-3)
    assert at_the_edge[Zone.LOW] == pytest.approx(2 * pi, rel=1e-3)
    # Half the circle lies in the yard; of the strip it takes the part no higher than 1.5 m:
    # 2 x the integral of sqrt(4 - y^2) from 0 to 1.5 = 5.376 m2.
    assert at_the_edge[Zone.EDGE] == pytest.approx(75.0 - 5.376, abs=0.01)


@given(st.lists(st.sampled_from(list(Zone)), min_size=1, max_size=12))
def test_weights_add_up_to_the_area_of_the_zones_tested(zones):
    areas = {Zone.EDGE: 90.0, Zone.LOW: 10.0, Zone.INTERIOR: 900.0}

    weights = weights_of(zones, areas)

    assert sum(weights) == pytest.approx(sum(areas[zone] for zone in set(zones)))
    assert all(weight > 0.0 for weight in weights)


@pytest.mark.parametrize(
    ("zones", "areas"),
    [
        ([Zone.EDGE, Zone.INTERIOR], None),
        ([Zone.EDGE, None], {Zone.EDGE: 90.0, Zone.LOW: 10.0, Zone.INTERIOR: 900.0}),
        ([Zone.LOW, Zone.INTERIOR], {Zone.EDGE: 90.0, Zone.LOW: 0.0, Zone.INTERIOR: 910.0}),
    ],
    ids=["no plan", "a spot in no zone", "a zone the plan does not have"],
)
def test_where_the_plan_does_not_tell_all_spots_weigh_alike(zones, areas):
    assert weights_of(zones, areas) == [1.0, 1.0]
