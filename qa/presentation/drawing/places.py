"""Where words find room in a drawing: none covers another or leaves it, each as near its place as may be."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import chain, count
from math import hypot

_EDGE = 2.0  # free at the rim of the drawing
_FARTHEST = 130.0  # a line to words farther off cannot be followed with the eye
_STEP_ACROSS, _STEP_DOWN = 18.0, 9.0

Point = tuple[float, float]
Line = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of a drawing, in its units; y points down."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Where it ends across."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Where it ends below."""
        return self.top + self.height

    def covers(self, other: "Box") -> bool:
        """Whether the two share room; sides that touch do not count."""
        across = self.left < other.right and other.left < self.right
        return across and self.top < other.bottom and other.top < self.bottom

    def nearest(self, x: float, y: float) -> Point:
        """Its point that lies nearest."""
        return min(max(x, self.left), self.right), min(max(y, self.top), self.bottom)

    def is_crossed(self, line: Line) -> bool:
        """Whether a line runs through it: what is left of the line between its sides, then between top and bottom."""
        (x0, y0), (x1, y1) = line
        start, end = 0.0, 1.0
        for at, by, low, high in ((x0, x1 - x0, self.left, self.right), (y0, y1 - y0, self.top, self.bottom)):
            if by == 0 and not low < at < high:
                return False
            if by:
                first, last = sorted(((low - at) / by, (high - at) / by))
                start, end = max(start, first), min(end, last)
        return start < end - 1e-9

    def moved(self, across: float, down: float) -> "Box":
        """The same one elsewhere."""
        return replace(self, left=self.left + across, top=self.top + down)


@dataclass(slots=True)
class Room:
    """A drawing as wide as it is, down to a floor; where that is full, more room is made below it."""

    width: float
    floor: float
    taken: list[Box] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)

    def take(self, wishes: Iterable[Box], led_from: Point | None = None) -> Box:
        """The first of the wishes that is free, else the nearest place to it, else one below the floor; taken from now.

        led_from: where a line to the words begins. Words keep clear of lines and lines of words, while there is room.
        """
        first, *others = wishes
        inside = self._inside(first)
        around = (inside.moved(*away) for away in _around())
        places = (box for box in chain((first, *others, inside), around) if self._is_in(box))
        box = self._best(filter(self._is_free, places), led_from) or self._below(inside)
        self.taken.append(box)
        self.lines += [(led_from, box.nearest(*led_from))] if led_from else []
        return box

    def _best(self, free: Iterator[Box], led_from: Point | None) -> Box | None:
        """The first that keeps clear, else the first; which is asked of no more of them than it takes."""
        first = next(free, None)
        return first and next((box for box in chain((first,), free) if self._is_clear(box, led_from)), first)

    @property
    def end(self) -> float:
        """The floor, or where what lies below it ends."""
        return max([self.floor, *(box.bottom for box in self.taken)])

    def _inside(self, box: Box) -> Box:
        left = max(_EDGE, min(box.left, self.width - _EDGE - box.width))
        return replace(box, left=left, top=max(_EDGE, min(box.top, self.floor - box.height)))

    def _is_in(self, box: Box) -> bool:
        across = box.left >= _EDGE and box.right <= self.width - _EDGE
        return across and box.top >= _EDGE and box.bottom <= self.floor

    def _is_free(self, box: Box) -> bool:
        return not any(box.covers(other) for other in self.taken)

    def _is_clear(self, box: Box, led_from: Point | None) -> bool:
        if any(box.is_crossed(line) for line in self.lines):
            return False
        if led_from is None:
            return True
        line = led_from, box.nearest(*led_from)
        return not any(other.is_crossed(line) for other in self.taken if other.nearest(*led_from) != led_from)

    def _below(self, box: Box) -> Box:
        return next(place for place in self._rows(box) if self._is_free(place))

    def _rows(self, box: Box) -> Iterator[Box]:
        """Places below the floor, row by row, in each row the nearest across first; there is always one more."""
        free = int((self.width - 2 * _EDGE - box.width) / _STEP_ACROSS)
        lefts = [_EDGE + n * _STEP_ACROSS for n in range(max(free, 0) + 1)]
        for row in count():
            for left in sorted(lefts, key=lambda left: abs(left - box.left)):
                yield replace(box, left=left, top=self.floor + row * _STEP_DOWN)


@cache
def _around() -> tuple[tuple[float, float], ...]:
    """Ways to move, the shortest first; of equal ones the one down and to the right."""
    across, down = int(_FARTHEST / _STEP_ACROSS), int(_FARTHEST / _STEP_DOWN)
    steps = [
        (x * _STEP_ACROSS, y * _STEP_DOWN)
        for x in range(-across, across + 1)
        for y in range(-down, down + 1)
    ]  # fmt: skip
    ways = (step for step in steps if 0 < hypot(*step) <= _FARTHEST)
    return tuple(sorted(ways, key=lambda way: (hypot(*way), -way[1], -way[0])))
