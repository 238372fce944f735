"""Outlines of the invented surfaces, seen from above: rectangles and corners, of the area they are said to have."""

from math import sqrt
from random import Random

from demo.calc.years import ZONES
from qa.calc.counts import Spot, choose_spots
from qa.calc.outlines import Point, SurfacePlan

LOW_FROM_CORNER_M = 3.0


def plan_of(area_m2: float, rng: Random) -> SurfacePlan:
    """An outline of that area; run-on comes over the first side, the low point lies across from it."""
    proportion = rng.uniform(1.3, 2.4)
    width = sqrt(area_m2 * proportion)
    depth = area_m2 / width
    corners = _angled(width, depth) if rng.random() < 0.4 else _rectangle(width, depth)
    inset = min(LOW_FROM_CORNER_M, width / 4, depth / 4)
    far = corners[2]
    return SurfacePlan(corners, (0,), (round(far[0] - inset, 1), round(far[1] - inset, 1)))


def _rectangle(width: float, depth: float) -> tuple[Point, ...]:
    return _rounded((0, 0), (width, 0), (width, depth), (0, depth))


def _angled(width: float, depth: float) -> tuple[Point, ...]:
    """An L: a fifth of the rectangle is taken off one corner and the depth makes up for it."""
    deep = depth / 0.8
    return _rounded(
        (0, 0), (width, 0), (width, deep), (width * 0.5, deep), (width * 0.5, deep * 0.6), (0, deep * 0.6)
    )


def _rounded(*corners: Point) -> tuple[Point, ...]:
    return tuple((round(x, 1), round(y, 1)) for x, y in corners)


def spots_on(plan: SurfacePlan, count: int, seed: int) -> list[Spot]:
    """Spots in the order of the labels that the simulated years know."""
    left = list(choose_spots(plan, count, seed))
    ordered = []
    for _, zone, _ in ZONES[:count]:
        spot = next(spot for spot in left if spot.zone.value == zone)
        left.remove(spot)
        ordered.append(spot)
    return ordered
