"""A test spot found again with a tape: its distances from two corners of the outline.

Two circles about the ends of a side meet in two points, mirrored by the side. A side is taken whose mirrored point
lies outside the surface, so that only one of them can be meant, and at whose ends the tapes cross widely, since
a reading a little off then moves the spot least (elementary surveying: intersection by distances; from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, dist, sin

from shapely import Point as ShapelyPoint
from shapely import Polygon

from qa.calc.outlines import Point, Side, sides_of

# Sine of the angle between the tapes: below the first a spot lies all but on the side; from the second on a crossing is
# wide, between 30° and 150°, and the shorter tape decides. Our judgement.
LEAST_CROSSING, WIDE_CROSSING = 0.2, 0.5


@dataclass(frozen=True, slots=True)
class FromCorner:
    """A distance from a corner of the outline; corners are numbered from 1 in the order they were drawn."""

    corner: int
    distance_m: float


def from_corners(outline: Sequence[Point], spot: Point) -> tuple[FromCorner, FromCorner] | None:
    """Distances from the two corners that place a spot best; None where no side tells it from its mirror image."""
    whole = Polygon(outline)
    found = []
    for i, side in enumerate(sides_of(outline)):
        crossing = _crossing(side, spot)
        if crossing >= LEAST_CROSSING and not whole.contains(ShapelyPoint(mirrored(side, spot))):
            reach = max(dist(side[0], spot), dist(side[1], spot))
            found.append((crossing < WIDE_CROSSING, reach, i))
    if not found:
        return None
    i = min(found)[2]
    ends = (i, (i + 1) % len(outline))
    first, second = (FromCorner(end + 1, dist(outline[end], spot)) for end in ends)
    return first, second


def mirrored(side: Side, spot: Point) -> Point:
    """The spot on the other side of the line through a side."""
    (ax, ay), (bx, by) = side
    dx, dy = bx - ax, by - ay
    along = ((spot[0] - ax) * dx + (spot[1] - ay) * dy) / (dx * dx + dy * dy)
    return 2 * (ax + along * dx) - spot[0], 2 * (ay + along * dy) - spot[1]


def _crossing(side: Side, spot: Point) -> float:
    """Sine of the angle at the spot between its ways to the ends of a side, by the law of cosines."""
    a, b, c = dist(side[0], spot), dist(side[1], spot), dist(*side)
    if a == 0.0 or b == 0.0:
        return 0.0
    return sin(acos(max(-1.0, min(1.0, (a * a + b * b - c * c) / (2 * a * b)))))
