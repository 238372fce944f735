"""The outline of a surface as people draw it: what it encloses, and what is wrong with it, where.

Lengths are metres in axes of the outline's own. What lies within a millimetre is taken as the same place: nobody
measures a surface finer, and so no rounding decides. The page says the same while an outline is drawn
(static/js/logic/outline.js).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations, pairwise
from math import dist, floor, hypot, isfinite
from typing import ClassVar

from core.calc.marks import marked
from core.calc.payload import Payload
from core.calc.translation import gettext as _
from core.calc.units import Quantity, UnitSystem, to_display, unit_of
from core.errors import ImpossibleRecordError

SAME_PLACE_M = 0.001
AREA_TOLERANCE = 0.1  # an outline measured on site may be so far off the recorded area; our judgement
FEWEST_CORNERS = 3
_A_HAIR = 1e-6  # so that 0.125 reads the same before and after a conversion of units

Point = tuple[float, float]
Side = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class SurfacePlan(Payload):
    """The outline of a surface and where its water comes from and goes to.

    outline: corners in order, metres. run_on_edges: numbers of the outline's sides that receive
    run-on, side i going from corner i to the next. low_point: where water would gather.
    """

    SCHEMA: ClassVar[int] = 1

    outline: tuple[Point, ...]
    run_on_edges: tuple[int, ...] = ()
    low_point: Point | None = None

    @property
    def edge_m(self) -> float:
        """Length of the outline all round."""
        return sum(dist(a, b) for a, b in pairwise((*self.outline, self.outline[0])))


class FaultKind(StrEnum):
    """What may be wrong with an outline."""

    TOO_FEW = "too_few"
    NO_NUMBER = "no_number"
    SAME_CORNER = "same_corner"
    FLAT = "flat"
    CROSS = "cross"
    TOUCH = "touch"
    OVERLAP = "overlap"


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with an outline. numbers: of the corners or sides that are meant, from 1; at: where."""

    kind: FaultKind
    numbers: tuple[int, ...]
    at: tuple[Point, ...] = ()


# A side that runs over another also touches the sides beside it: that would be told second best.
_WORST_FIRST = (FaultKind.OVERLAP, FaultKind.CROSS, FaultKind.TOUCH)


def fault_of(outline: Sequence[Point]) -> Fault | None:
    """What keeps an outline from going round a surface once, the worst first; None for a good one."""
    if len(outline) < FEWEST_CORNERS:
        return Fault(FaultKind.TOO_FEW, (len(outline),))
    odd = next((i for i, corner in enumerate(outline) if not all(map(isfinite, corner))), None)
    if odd is not None:
        return Fault(FaultKind.NO_NUMBER, (odd + 1,))
    for (i, p), (j, q) in combinations(enumerate(outline), 2):
        if _gap(p, q) <= SAME_PLACE_M:
            return Fault(FaultKind.SAME_CORNER, (i + 1, j + 1), (p,))
    if _is_flat(outline):
        return Fault(FaultKind.FLAT, ())
    return min(_meetings(outline), key=lambda fault: _WORST_FIRST.index(fault.kind), default=None)


def refuse_bad_outline(outline: Sequence[Point], system: UnitSystem = UnitSystem.SI) -> None:
    """Raise ImpossibleRecordError for an outline that does not go round a surface once; says where, in its units."""
    fault = fault_of(outline)
    if fault is not None:
        raise ImpossibleRecordError(fault_words(fault, len(outline), system))


def refuse_bad_plan(plan: SurfacePlan, system: UnitSystem = UnitSystem.SI) -> None:
    """Raise ImpossibleRecordError for a bad outline, or sides and points that are not of it."""
    refuse_bad_outline(plan.outline, system)
    refuse_wrong_sides(plan)
    if plan.low_point is not None:
        refuse_outside(plan.outline, {_("The low point"): plan.low_point}, system)


def refuse_wrong_sides(plan: SurfacePlan) -> None:
    """Raise ImpossibleRecordError for a number that names no side."""
    wrong = [i for i in plan.run_on_edges if not 0 <= i < len(plan.outline)]
    if wrong:
        raise ImpossibleRecordError(
            _("Side {side} does not exist; the outline has sides 1 to {last}.").format(
                side=wrong[0] + 1, last=len(plan.outline)
            )
        )


def refuse_outside(
    outline: Sequence[Point], spots: Mapping[str, Point], system: UnitSystem = UnitSystem.SI
) -> None:
    """Raise ImpossibleRecordError for spots, by name, that do not lie on the surface or are no numbers."""
    for name, spot in spots.items():
        if not all(map(isfinite, spot)):
            raise ImpossibleRecordError(
                _("{name} has a position that is not a number. Enter x and y again.").format(name=name)
            )
        if not is_inside(outline, spot):
            raise ImpossibleRecordError(
                _("{name} at {place} lies outside the outline. Correct its position or the outline.").format(
                    name=name, place=_place(spot, system)
                )
            )


def outline_area_m2(outline: Sequence[Point]) -> float:
    """Area within the outline, by the shoelace formula."""
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in sides_of(outline))) / 2


def area_off_m2(outline: Sequence[Point], recorded_m2: float) -> float | None:
    """The area of an outline that does not fit the recorded one; None where the two agree well enough."""
    area = outline_area_m2(outline)
    return area if abs(area - recorded_m2) > AREA_TOLERANCE * recorded_m2 else None


def is_inside(outline: Sequence[Point], p: Point) -> bool:
    """Whether a point lies within the outline or on one of its sides.

    Even-odd rule: a ray to the right crosses the outline an odd number of times.
    """
    if any(distance_m(p, side) <= SAME_PLACE_M for side in sides_of(outline)):
        return True
    crossed = (
        p[0] < ax + (p[1] - ay) * (bx - ax) / (by - ay)
        for (ax, ay), (bx, by) in sides_of(outline)
        if (ay > p[1]) != (by > p[1])
    )
    return sum(crossed) % 2 == 1


def sides_of(outline: Sequence[Point]) -> list[Side]:
    """The sides in order, each from its corner to the next, the last one back to the first corner."""
    return list(zip(outline, [*outline[1:], *outline[:1]], strict=True))


def distance_m(p: Point, side: Side) -> float:
    """From a point to the nearest place of a side, in the unit of both."""
    (ax, ay), (bx, by) = side
    dx, dy = bx - ax, by - ay
    t = max(0.0, min(1.0, ((p[0] - ax) * dx + (p[1] - ay) * dy) / (dx * dx + dy * dy)))
    return hypot(p[0] - ax - t * dx, p[1] - ay - t * dy)


def _gap(p: Point, q: Point) -> float:
    return hypot(p[0] - q[0], p[1] - q[1])


def _is_flat(outline: Sequence[Point]) -> bool:
    """Whether all corners lie on one line."""
    first = outline[0]
    farthest = max(outline, key=lambda corner: _gap(first, corner))
    length = _gap(first, farthest)
    return all(abs(_turn(first, farthest, corner)) / length <= SAME_PLACE_M for corner in outline)


def _turn(a: Point, b: Point, c: Point) -> float:
    """Twice the area of the triangle a, b, c; above 0 where c lies to the left of the way from a to b."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _meetings(outline: Sequence[Point]) -> Iterator[Fault]:
    """Where sides come together that should not, in the order of the sides."""
    sides = sides_of(outline)
    for (i, first), (j, second) in combinations(enumerate(sides), 2):
        if j == i + 1:
            kind, at = _folded(first, second)
        elif (i, j) == (0, len(sides) - 1):
            kind, at = _folded(second, first)
        else:
            kind, at = _meeting(first, second)
        if at:
            yield Fault(kind, (i + 1, j + 1), at)


def _folded(first: Side, second: Side) -> tuple[FaultKind, tuple[Point, ...]]:
    """Whether the second of two sides that follow each other runs back over the first."""
    (start, corner), end = first, second[1]
    back = [p for p, side in ((end, first), (start, second)) if distance_m(p, side) <= SAME_PLACE_M]
    return FaultKind.OVERLAP, (corner, back[0]) if back else ()


def _meeting(first: Side, second: Side) -> tuple[FaultKind, tuple[Point, ...]]:
    """How two sides without a common corner come together: not at all, at one place, or along a stretch."""
    ends = [p for p in first if distance_m(p, second) <= SAME_PLACE_M]
    ends += [p for p in second if distance_m(p, first) <= SAME_PLACE_M]
    if len(ends) > 1:
        return FaultKind.OVERLAP, (ends[0], max(ends, key=lambda p: _gap(ends[0], p)))
    if ends:
        return FaultKind.TOUCH, (ends[0],)
    return FaultKind.CROSS, _crossing(first, second)


def _crossing(first: Side, second: Side) -> tuple[Point, ...]:
    (a, b), (c, d) = first, second
    from_c, from_d = _turn(a, b, c), _turn(a, b, d)
    if (from_c > 0) == (from_d > 0) or (_turn(c, d, a) > 0) == (_turn(c, d, b) > 0):
        return ()
    share = from_c / (from_c - from_d)
    return ((c[0] + share * (d[0] - c[0]), c[1] + share * (d[1] - c[1])),)


def fault_words(fault: Fault, corners: int, system: UnitSystem = UnitSystem.SI) -> str:
    """What is wrong, where, and what to do. corners: how many the outline has."""
    if fault.kind is FaultKind.TOO_FEW:
        said = _("An outline needs {least} corners or more, got {count}. Draw the surface again.")
        return said.format(least=FEWEST_CORNERS, count=corners)
    if fault.kind is FaultKind.NO_NUMBER:
        said = _("Corner {number} of the outline is not a number. Enter its x and y again.")
        return said.format(number=fault.numbers[0])
    if fault.kind is FaultKind.FLAT:
        return _("The outline has no area: its corners lie on one line. Check them.")
    one, other = fault.numbers
    where = [_place(p, system) for p in fault.at]
    if fault.kind is FaultKind.SAME_CORNER:
        said = _("Corners {one} and {other} lie on each other at {place}.")
        told = said.format(one=one, other=other, place=where[0])
        return f"{told} {_what_to_remove(one, other, corners)}"
    said = _meeting_words(fault.kind).format(one=one, other=other, place=where[0], end=where[-1])
    todo = _("An outline goes round the surface once: check the corners of both sides and their order.")
    return f"{said} {todo}"


def _meeting_words(kind: FaultKind) -> str:
    if kind is FaultKind.CROSS:
        return _("Sides {one} and {other} cross at {place}.")
    if kind is FaultKind.TOUCH:
        return _("Sides {one} and {other} touch at {place}.")
    return _("Sides {one} and {other} lie on each other from {place} to {end}.")


def _what_to_remove(one: int, other: int, corners: int) -> str:
    if (one, other) == (1, corners):
        return _("The outline closes by itself: remove the last corner.")
    if other == one + 1:
        return _("Remove one of them.")
    return _(
        "An outline passes no place twice: move one of them, or enter the parts as surfaces of their own."
    )


def _place(p: Point, system: UnitSystem) -> str:
    unit = unit_of(Quantity.LENGTH, system)
    shown = (coordinate_text(to_display(v, Quantity.LENGTH, system).value) for v in p)
    x, y = (f"{marked(text)} {unit}" for text in shown)
    # Translators: the two coordinates of a place.
    return _("{x}, {y}").format(x=x, y=y)


def coordinate_text(value: float) -> str:
    """A coordinate to the hundredth of its unit, without padding."""
    return f"{floor(value * 100 + 0.5 + _A_HAIR) / 100:.2f}".rstrip("0").rstrip(".")
