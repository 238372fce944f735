"""Sites and outlines as RFC 7946 asks for them."""

import pytest
from shapely.geometry import Polygon, shape

from exchange.calc.geojson import Place, collection, metres_a_degree, ring_of, signed_area

SQUARE = ((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0))
SITE = Place("s", {"kind": "site"}, 52.5, 13.4)


@pytest.mark.parametrize(
    ("latitude", "longitude_m", "latitude_m"),
    # Lengths of a degree on the WGS 84 ellipsoid as tables of map projections print them, to the metre; from memory.
    [(0.0, 111_320, 110_574), (45.0, 78_847, 111_132), (60.0, 55_800, 111_412)],
)
def test_a_degree_is_as_long_as_on_the_ellipsoid(latitude, longitude_m, latitude_m):
    assert metres_a_degree(latitude) == pytest.approx((longitude_m, latitude_m), abs=1)


@pytest.mark.parametrize("outline", [SQUARE, tuple(reversed(SQUARE))])
def test_a_ring_is_closed_runs_against_the_clock_and_keeps_its_area(outline):
    ring = ring_of(outline, 52.5, 13.4)

    assert ring[0] == ring[-1]
    assert signed_area(ring[:-1]) > 0
    x_m, y_m = metres_a_degree(52.5)
    assert Polygon([(x * x_m, y * y_m) for x, y in ring]).area == pytest.approx(600, rel=1e-3)


def test_a_collection_has_points_areas_and_a_box_around_them():
    surface = Place("f", {"kind": "surface"}, 52.5, 13.4, SQUARE)

    made = collection([SITE, surface])

    point, area = made["features"]
    assert made["type"] == "FeatureCollection"
    assert point["geometry"] == {"type": "Point", "coordinates": [13.4, 52.5]}
    assert shape(area["geometry"]).is_valid
    west, south, east, north = made["bbox"]
    assert west < 13.4 < east
    assert south < 52.5 < north
    assert area["bbox"] == made["bbox"]
    assert "bearing is not recorded" in area["properties"]["axes"]


def test_what_has_no_position_is_kept_without_a_geometry():
    made = collection([Place("s", {}, None, None), Place("p", {}, 90.0, 0.0)])

    assert [feature["geometry"] for feature in made["features"]] == [None, None]
    assert "bbox" not in made
