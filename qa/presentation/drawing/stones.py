"""Stones of a layer at true size: dropped one by one until they rest, the same for the same seed."""

from bisect import insort
from dataclasses import dataclass
from functools import lru_cache
from math import cos, pi, sin, sqrt
from random import Random

from core.presentation.svg import Point

MOST_STONES = 1500
_DROPS = 7
_KEPT_ON_TOP = 14


@dataclass(frozen=True, slots=True)
class Stone:
    """A polygon in mm, y upwards from the bottom of its layer, and a tone from 0 to 2."""

    corners: tuple[Point, ...]
    tone: int
    radius_mm: float


@dataclass(frozen=True, slots=True)
class Fill:
    """What to pack. Lengths in mm; porosity is the share of voids; roundness 0 is broken, 1 a pebble."""

    width_mm: float
    height_mm: float
    stone_min_mm: float
    stone_max_mm: float
    porosity: float
    roundness: float = 0.0


@lru_cache(maxsize=512)
def pack_stones(fill: Fill, seed: int) -> tuple[Stone, ...]:
    """Stones resting on each other in a box, with about the stated share of voids.

    The share of voids in a plane cut equals their share of the volume (Delesse 1847, from memory), so the
    picture can be true to the porosity; stones are grown or shrunk by at most a fifth for it.
    """
    rng = Random(seed)
    circles = _drop_all(fill, rng)
    shapes = [_shape(x, y, r, fill.roundness, rng) for x, y, r in circles]
    inside = [i for i, (x, _, _) in enumerate(circles) if 0 <= x <= fill.width_mm]
    solid = sum(_area(shapes[i]) for i in inside) / (fill.width_mm * fill.height_mm)
    factor = min(1.2, max(0.8, sqrt((1 - fill.porosity) / solid))) if solid else 1.0
    return tuple(
        Stone(_scaled(shape, (x, y), factor), rng.randrange(3), r * factor)
        for shape, (x, y, r) in zip(shapes, circles, strict=True)
    )


class _Heap:
    """Circles already at rest, in columns, so that a falling one meets only those below it."""

    def __init__(self, width: float, column: float) -> None:
        self.width = width
        self.column = column
        # Of each circle minus its top, x, y and r: the highest first.
        self.columns: dict[int, list[tuple[float, float, float, float]]] = {}

    def rest_height(self, x: float, r: float) -> float:
        """Height of the centre of a circle that falls straight down at x."""
        height = r
        middle = int(x // self.column)
        for i in (middle - 1, middle, middle + 1):
            for minus_top, cx, cy, cr in self.columns.get(i, ()):
                reach = r + cr
                if r - minus_top <= height:  # it and all behind it lie too low to matter
                    break
                apart = reach * reach - (x - cx) ** 2
                if apart > 0:
                    height = max(height, cy + sqrt(apart))
        return height

    def add(self, x: float, y: float, r: float) -> None:
        column = self.columns.setdefault(int(x // self.column), [])
        insort(column, (-(y + r), x, y, r))
        if len(column) > _KEPT_ON_TOP:  # the lowest one is buried and can be forgotten
            column.pop()


def _drop_all(fill: Fill, rng: Random) -> list[tuple[float, float, float]]:
    heap = _Heap(fill.width_mm, fill.stone_max_mm)
    circles: list[tuple[float, float, float]] = []
    smallest, largest = fill.stone_min_mm / 2, fill.stone_max_mm / 2
    misses = 0
    while misses < 12 and len(circles) < MOST_STONES:
        r = smallest * (largest / smallest) ** rng.random()
        x, y = _lowest_rest(heap, r, rng)
        if y + r > fill.height_mm:
            misses += 1
            largest = max(smallest, largest * 0.9)  # near the top only smaller stones still fit
            continue
        misses = 0
        heap.add(x, y, r)
        circles.append((x, y, r))
    return circles


def _lowest_rest(heap: _Heap, r: float, rng: Random) -> tuple[float, float]:
    """The lowest of a few falls, then rolled sideways while that leads down."""
    y, x = min((heap.rest_height(x, r), x) for x in (rng.uniform(-r, heap.width + r) for _ in range(_DROPS)))
    step = r
    for _ in range(5):
        for candidate in (x - step, x + step):
            height = heap.rest_height(candidate, r)
            if height < y and -r <= candidate <= heap.width + r:
                x, y = candidate, height
        step /= 2
    return x, y


def _shape(x: float, y: float, r: float, roundness: float, rng: Random) -> tuple[Point, ...]:
    corners = rng.randint(6, 8) + (2 if roundness > 0.5 else 0)
    turn, flat = rng.uniform(0, 2 * pi), rng.uniform(0.82, 1.0)
    rough = 0.16 * (1 - roundness)
    points = []
    for i in range(corners):
        angle = 2 * pi * (i + rng.uniform(-0.28, 0.28) * (1 - roundness)) / corners
        reach = r * rng.uniform(1 - rough, 1 + rough / 3)
        u, v = reach * cos(angle), reach * flat * sin(angle)
        points.append((x + u * cos(turn) - v * sin(turn), y + u * sin(turn) + v * cos(turn)))
    return tuple(points)


def _area(corners: tuple[Point, ...]) -> float:
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs)) / 2


def _scaled(corners: tuple[Point, ...], centre: Point, factor: float) -> tuple[Point, ...]:
    cx, cy = centre
    return tuple((cx + (x - cx) * factor, cy + (y - cy) * factor) for x, y in corners)
