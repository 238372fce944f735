"""Sites and outlines as GeoJSON (RFC 7946): WGS 84, longitude first, outer rings against the clock, with a box around.

Outlines are kept in metres, in axes of their own, and no bearing is recorded: they are drawn around the position of
their site, the first axis to the east and the second to the north, which each of them says.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import cos, pi, radians, sin, sqrt
from typing import Any

# World Geodetic System 1984: NIMA TR8350.2 (2000), table 3.1.
SEMI_MAJOR_M = 6_378_137.0
FLATTENING = 1.0 / 298.257223563
_E2 = FLATTENING * (2.0 - FLATTENING)
DIGITS = 7  # a centimetre
AXES = (
    "Drawn around the position of the site with the first axis to the east; the true bearing is not recorded."
)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Place:
    """A site or a surface: where it is, if that is known, and for a surface its outline in metres."""

    id: str
    properties: Mapping[str, Any]
    latitude_deg: float | None
    longitude_deg: float | None
    outline_m: Sequence[Point] = field(default=())


def metres_a_degree(latitude_deg: float) -> tuple[float, float]:
    """Metres of a degree of longitude and of latitude there, on the ellipsoid (NIMA TR8350.2, radii of curvature)."""
    s = sin(radians(latitude_deg))
    w = 1.0 - _E2 * s * s
    meridian, normal = SEMI_MAJOR_M * (1.0 - _E2) / w**1.5, SEMI_MAJOR_M / sqrt(w)
    return pi / 180.0 * normal * cos(radians(latitude_deg)), pi / 180.0 * meridian


def ring_of(outline_m: Sequence[Point], latitude_deg: float, longitude_deg: float) -> list[list[float]]:
    """A closed ring against the clock around a position; the middle of the outline's box lies on it."""
    x_m, y_m = metres_a_degree(latitude_deg)
    xs, ys = [x for x, _ in outline_m], [y for _, y in outline_m]
    x0, y0 = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    points = list(outline_m) if signed_area(outline_m) >= 0 else list(reversed(outline_m))
    ring = [
        [round(longitude_deg + (x - x0) / x_m, DIGITS), round(latitude_deg + (y - y0) / y_m, DIGITS)]
        for x, y in points
    ]
    return [*ring, ring[0]]


def signed_area(points: Sequence[Sequence[float]]) -> float:
    """The area within, more than 0 where the corners run against the clock."""
    pairs = zip(points, (*points[1:], points[0]), strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


def collection(places: Iterable[Place]) -> dict[str, Any]:
    """All of them. What has no position is kept without a geometry (RFC 7946, 3.2)."""
    features = [_feature(place) for place in places]
    made: dict[str, Any] = {"type": "FeatureCollection", "features": features}
    corners = [corner for feature in features for corner in _corners(feature["geometry"])]
    return made | ({"bbox": _box(corners)} if corners else {})


def _feature(place: Place) -> dict[str, Any]:
    geometry = _geometry(place)
    made: dict[str, Any] = {
        "type": "Feature",
        "id": place.id,
        "geometry": geometry,
        "properties": dict(place.properties),
    }
    if geometry and geometry["type"] == "Polygon":
        made["bbox"] = _box(_corners(geometry))
        made["properties"]["axes"] = AXES
    return made


def _geometry(place: Place) -> dict[str, Any] | None:
    latitude, longitude = place.latitude_deg, place.longitude_deg
    if latitude is None or longitude is None or abs(latitude) > 89.9:
        return None
    if place.outline_m:
        return {"type": "Polygon", "coordinates": [ring_of(place.outline_m, latitude, longitude)]}
    return {"type": "Point", "coordinates": [round(longitude, DIGITS), round(latitude, DIGITS)]}


def _corners(geometry: Mapping[str, Any] | None) -> list[list[float]]:
    if geometry is None:
        return []
    found: list[list[float]] = (
        geometry["coordinates"][0] if geometry["type"] == "Polygon" else [geometry["coordinates"]]
    )
    return found


def _box(corners: Sequence[Sequence[float]]) -> list[float]:
    """West, south, east, north (RFC 7946, 5)."""
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    return [min(xs), min(ys), max(xs), max(ys)]
