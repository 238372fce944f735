"""Where spots are proposed: held by the room that is left to them, and by shapely (GEOS) for what lies where."""

from math import sqrt

import pytest
import shapely
from shapely.affinity import rotate, translate
from shapely.geometry import LineString, Polygon

from core.calc.units import UnitSystem
from core.errors import ImpossibleRecordError
from qa.calc.counts import Zone, choose_spots, count_deviation, spacing_deviations, zone_shares
from qa.calc.outlines import SurfacePlan

L_SHAPE = ((0.0, 0.0), (30.0, 0.0), (30.0, 12.0), (14.0, 12.0), (14.0, 28.0), (0.0, 28.0))


def lane(length, width, **where):
    return SurfacePlan(outline=((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)), **where)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("turned", [0.0, 33.0, 141.0])
def test_spots_lie_on_the_surface_with_room_for_the_ring_and_in_the_zone_they_are_named_by(seed, turned):
    """The ring needs 0.3 m to a side; edge strip of 1.5 m, low spot of 2 m: our own choices. 15 mm for rounding."""
    surface = translate(rotate(Polygon(L_SHAPE), turned, origin=(0, 0)), 50.0, -20.0)
    corners = tuple(surface.exterior.coords)
    low = translate(rotate(shapely.Point(6.0, 6.0), turned, origin=(0, 0)), 50.0, -20.0)
    plan = SurfacePlan(outline=corners[:-1], run_on_edges=(1, 4), low_point=(low.x, low.y))
    run_on = shapely.MultiLineString([LineString(corners[i : i + 2]) for i in (1, 4)])

    for spot in choose_spots(plan, 12, seed=seed):
        place = shapely.Point(spot.x_m, spot.y_m)
        from_low = place.distance(low)
        assert surface.contains(place)
        assert surface.exterior.distance(place) >= 0.3 - 0.015
        assert (spot.zone is not Zone.EDGE) or run_on.distance(place) <= 1.5 + 0.015
        assert (spot.zone is not Zone.LOW) or from_low <= 2.0 + 0.015
        if spot.zone is Zone.INTERIOR:
            assert run_on.distance(place) > 1.5 - 0.015
            assert from_low > 2.0 - 0.015


@pytest.mark.parametrize(("width", "fits"), [(0.64, True), (0.599, False)])
def test_a_lane_holds_a_ring_where_30_cm_are_left_on_either_side(width, fits):
    if fits:
        assert len(choose_spots(lane(60.0, width), 3, seed=1)) == 3
    else:
        with pytest.raises(ImpossibleRecordError, match="No room for another spot in the interior zone"):
            choose_spots(lane(60.0, width), 3, seed=1)


@pytest.mark.parametrize(("width", "fits"), [(1.90, True), (1.79, False)])
def test_inside_begins_one_and_a_half_metres_from_where_water_runs_on(width, fits):
    """A lane beside run-on: 0.3 m are kept from its far side, so the inside is 10 cm wide or gone."""
    plan = lane(200.0, width, run_on_edges=(0,))

    if fits:
        inside = [spot for spot in choose_spots(plan, 3, seed=2) if spot.zone is Zone.INTERIOR]
        assert inside
        assert all(1.49 <= spot.y_m <= 1.61 for spot in inside)
    else:
        with pytest.raises(ImpossibleRecordError, match="interior zone"):
            choose_spots(plan, 3, seed=2)


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("seed", range(3))
def test_new_spots_keep_their_distance_from_each_other_and_from_those_that_are_there(system, seed):
    taken = ((3.0, 3.0), (20.0, 6.0))

    spots = choose_spots(SurfacePlan(outline=L_SHAPE), 10, seed=seed, taken=taken, system=system)

    places = [*taken, *((spot.x_m, spot.y_m) for spot in spots)]
    assert len(spots) == 10
    assert spacing_deviations({str(i): place for i, place in enumerate(places)}, system) == ()


@pytest.mark.parametrize(
    ("apart", "system", "too_close"),
    [
        (0.99, UnitSystem.SI, True),
        (1.0, UnitSystem.SI, False),
        (0.914, UnitSystem.US, True),  # 3 ft are 0.9144 m
        (0.9144, UnitSystem.US, False),
        (0.95, UnitSystem.US, False),
    ],
)
def test_spots_are_too_close_below_a_metre_or_three_feet_in_any_direction(apart, system, too_close):
    """ASTM C1701/C1701M, C1781/C1781M (from memory). A right triangle of legs 0.6 and 0.8."""
    places = {"A": (2.0, 1.0), "B": (2.0 + 0.6 * apart, 1.0 + 0.8 * apart)}

    found = spacing_deviations(places, system)

    assert [round(one.value, 9) for one in found] == ([pytest.approx(apart)] if too_close else [])


@pytest.mark.parametrize(
    ("tested", "area", "system", "more"),
    [
        (2, 2500, UnitSystem.SI, 1),
        (3, 2500, UnitSystem.SI, 0),
        (3, 2501, UnitSystem.SI, 1),
        (1, 10_000, UnitSystem.SI, 10),  # 3 and (10 000 - 2500) / 1000 = 7.5, begun: 8
        (3, 25_500, UnitSystem.US, 1),
        (4, 25_500, UnitSystem.US, 0),
    ],
)
def test_a_round_says_how_many_spots_it_lacks(tested, area, system, more):
    found = count_deviation(tested, area, system)

    if more:
        assert f"Test {more} more" in found.message
        assert found.allowed == f"at least {tested + more}"
        assert f"{area:,.0f} {'m²' if system is UnitSystem.SI else 'ft²'}" in found.message
        assert found.message.startswith(f"{tested} spot{' was' if tested == 1 else 's were'} tested")
    else:
        assert found is None


# A third to the edge, one in six to the low spot, at least one: our own choice, counted out.
SHARES = [
    (1, True, True, (1, 0, 0)),
    (2, True, True, (1, 1, 0)),
    (3, True, True, (1, 1, 1)),
    (6, True, True, (2, 1, 3)),
    (12, True, True, (4, 2, 6)),
    (30, True, True, (10, 5, 15)),
    (12, True, False, (4, 0, 8)),
    (12, False, True, (0, 2, 10)),
    (12, False, False, (0, 0, 12)),
    (1, False, True, (0, 1, 0)),
]


@pytest.mark.parametrize(("count", "edge", "low", "shares"), SHARES)
def test_a_third_goes_to_the_edge_and_a_sixth_to_the_low_spot(count, edge, low, shares):
    found = zone_shares(count, edge, low)

    assert (found[Zone.EDGE], found[Zone.LOW], found[Zone.INTERIOR]) == shares


@pytest.mark.parametrize("count", [0, -3])
def test_no_spots_are_refused(count):
    with pytest.raises(ImpossibleRecordError, match=f"At least 1 spot is needed, got {count}"):
        zone_shares(count, True, True)


@pytest.mark.parametrize("seed", range(8))
def test_edge_spots_are_spread_over_every_side_where_water_runs_on(seed):
    """Two sides of a square, each with half of the strip: of eight edge spots some lie beside either."""
    plan = SurfacePlan(outline=((0, 0), (40, 0), (40, 40), (0, 40)), run_on_edges=(0, 2))

    edge = [spot for spot in choose_spots(plan, 24, seed=seed) if spot.zone is Zone.EDGE]

    assert len(edge) == 8
    assert {spot.y_m < 20 for spot in edge} == {True, False}


def test_spots_of_an_even_surface_are_spread_wider_than_chance_would():
    """Best of a few candidates (Mitchell 1991): the nearest two of six lie farther apart than in a random draw.

    Of n places strewn over an area A the mean distance to the nearest is 0.5 / sqrt(n / A) (Clark & Evans 1954,
    Ecology 35:445-453): 0.5 / sqrt(6 / 1600) = 8.2 m.
    """
    plan = SurfacePlan(outline=((0, 0), (40, 0), (40, 40), (0, 40)))
    nearest = []
    for seed in range(10):
        places = [(spot.x_m, spot.y_m) for spot in choose_spots(plan, 6, seed=seed)]
        nearest += [
            min(shapely.Point(p).distance(shapely.Point(q)) for q in places if q is not p) for p in places
        ]

    assert sum(nearest) / len(nearest) > 1.2 * 0.5 / sqrt(6 / 1600)
