"""A surface seen from above, drawn to scale from its outline: run-on sides, low point, test locations.

The drawing is 360 units wide with lettering of 12 units or more, so it reads on a phone. The y axis of
the record points up, that of SVG down.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import floor, hypot, log10

from core.calc.format import fixed
from core.calc.translation import gettext as _
from core.calc.translation import ngettext
from core.calc.units import MM_PER_FT, MM_PER_M, UnitSystem
from core.errors import ImpossibleRecordError
from core.presentation.lettering import text_width
from core.presentation.svg import element, outline, text, text_node
from qa.calc.counts import EDGE_STRIP_M, Zone
from qa.calc.numbers import short
from qa.calc.outlines import Point, SurfacePlan
from qa.presentation.drawing.palette import Paint
from qa.presentation.drawing.places import Box, Room
from qa.presentation.drawing.spot_labels import LABEL_SIZE, NOTE_SIZE, Words, place_words

WIDTH = 360.0
_LEFT, _RIGHT, _TOP = 34.0, 34.0, 30.0
_HIGHEST = 420.0
_RING = 8.0
_ARROW_EVERY = 46.0
_ROW = 19.0
_UNDER = 20.0  # below the outline, where arrows begin and words may stand
_CROWD = 12  # spots, from which on their notes stand in a list below
_LIST_ROW, _LIST_COLUMN = 16.0, 150.0
_LED = 8.0  # from a ring, beyond which a line leads to its words


@dataclass(frozen=True, slots=True)
class Mark:
    """A test location on the plan. note: one short line under its label, such as its last rate."""

    label: str
    zone: Zone
    x_m: float
    y_m: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class _View:
    """Metres to drawing units."""

    scale: float
    x0: float
    y1: float
    height: float

    def at(self, p: Point) -> Point:
        return _LEFT + (p[0] - self.x0) * self.scale, _TOP + (self.y1 - p[1]) * self.scale


def draw_plan(
    plan: SurfacePlan,
    marks: Sequence[Mark],
    *,
    name: str,
    jointed: bool = True,
    system: UnitSystem = UnitSystem.SI,
    css_variables: bool = True,
    id_prefix: str = "plan",
    numbered: bool = False,
) -> str:
    """The plan as SVG text with a title and a description in words.

    Raises ImpossibleRecordError for an outline that encloses nothing.

    jointed: whether the surface is laid of units, or is one piece of bound or loose stone. numbered: whether corners
    carry their numbers, from 1, for who measures from them.
    """
    view = _view(plan)
    paint = Paint(css_variables)
    shape = outline(view.at(corner) for corner in plan.outline)
    room = _room(plan, marks, view)
    numbers = _corner_numbers(plan, view, room, paint) if numbered else ""
    crowded = len(marks) > _CROWD
    spots = _marks([replace(mark, note="") for mark in marks] if crowded else marks, view, room, paint)
    legend, end = _legend(marks, plan, room.end + 42, system, paint)
    listed, end = _listed(marks, end, paint) if crowded else ("", end)
    parts = [
        _definitions(shape, paint, id_prefix, jointed),
        element("path", d=shape, fill=f"url(#{id_prefix}-ground)"),
        _edge_strip(plan, view, paint, id_prefix),
        element("path", d=shape, fill="none", stroke=paint("ink"), stroke_width=2.5, stroke_linejoin="round"),
        _run_on(plan, view, paint),
        _low_point(plan, view, paint),
        numbers,
        spots,
        _scale_bar(view, room.end + 14, system, paint),
        legend,
        listed,
    ]
    return _wrap(plan, marks, name, id_prefix, end, parts)


def _view(plan: SurfacePlan) -> _View:
    xs, ys = zip(*plan.outline, strict=True)
    across, up = max(xs) - min(xs), max(ys) - min(ys)
    if across <= 0 or up <= 0:
        raise ImpossibleRecordError(
            _("The outline has no area: its corners lie on one line. Check their metres.")
        )
    scale = min((WIDTH - _LEFT - _RIGHT) / across, _HIGHEST / up)
    spare = (WIDTH - _LEFT - _RIGHT - across * scale) / 2 / scale
    return _View(scale, min(xs) - spare, max(ys), up * scale)


def _definitions(shape: str, paint: Paint, id_prefix: str, jointed: bool) -> str:
    """The shape to cut with, and the ground: a running bond or strewn stone, not to scale."""
    w, h = 26, 14
    drawn = _bond(w, h, paint) if jointed else _stone(w, h, paint)
    ground = element(
        "pattern", drawn, id=f"{id_prefix}-ground", width=w, height=h, patternUnits="userSpaceOnUse"
    )
    return element("defs", ground, element("clipPath", element("path", d=shape), id=f"{id_prefix}-shape"))


def _bond(w: int, h: int, paint: Paint) -> str:
    units = element("rect", width=w, height=h, fill=paint("unit-edge"), opacity="0.35")
    for x, y in ((0.5, 0.5), (-12.5, 7.5), (13.5, 7.5)):
        units += element("rect", x=x, y=y, width=w - 1.0, height=6.0, fill=paint("void"))
    return units


def _stone(w: int, h: int, paint: Paint) -> str:
    stones = element("rect", width=w, height=h, fill=paint("void"))
    for x, y, r in ((4, 3, 1.6), (13, 6, 1.1), (21, 2, 1.4), (8, 10, 1.2), (18, 11, 1.7), (24, 8, 0.9)):
        stones += element("circle", cx=x, cy=y, r=r, fill=paint("unit-edge"), opacity="0.4")
    return stones


def _edge_strip(plan: SurfacePlan, view: _View, paint: Paint, id_prefix: str) -> str:
    """The strip beside run-on sides, where clogging starts: a broad stroke cut at the outline."""
    lines = []
    for (ax, ay), (bx, by) in _run_on_sides(plan, view):
        width = 2 * EDGE_STRIP_M * view.scale
        lines.append(
            element(
                "line", x1=ax, y1=ay, x2=bx, y2=by, stroke=paint("water"), stroke_width=width,
                stroke_linecap="round",
            )
        )  # fmt: skip
    return element("g", *lines, clip_path=f"url(#{id_prefix}-shape)", opacity="0.6") if lines else ""


def _short(zone: Zone) -> str:
    return zone.in_sentence.partition(",")[0]


def _run_on_sides(plan: SurfacePlan, view: _View) -> list[tuple[Point, Point]]:
    corners = plan.outline
    return [(view.at(corners[i]), view.at(corners[(i + 1) % len(corners)])) for i in plan.run_on_edges]


def _run_on(plan: SurfacePlan, view: _View, paint: Paint) -> str:
    """Arrows over the run-on sides, pointing on to the surface."""
    return "".join(_arrow(*each, paint) for each in _arrows(plan, view))


def _arrows(plan: SurfacePlan, view: _View) -> list[tuple[float, float, float, float]]:
    """Where each crosses its side, and the way it points."""
    inward = _turn(plan)
    arrows = []
    for (ax, ay), (bx, by) in _run_on_sides(plan, view):
        length = hypot(bx - ax, by - ay)
        ux, uy = (bx - ax) / length, (by - ay) / length
        count = max(1, floor(length / _ARROW_EVERY))
        shares = [(k + 0.5) / count for k in range(count)]
        arrows += [(ax + at * (bx - ax), ay + at * (by - ay), -uy * inward, ux * inward) for at in shares]
    return arrows


def _turn(plan: SurfacePlan) -> int:
    """1 where the inside lies to the right of each side as drawn (SVG's y points down), else -1."""
    corners = plan.outline
    area = sum(
        x0 * y1 - x1 * y0
        for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True)
    )  # fmt: skip
    return -1 if area > 0 else 1


def _arrow(x: float, y: float, nx: float, ny: float, paint: Paint) -> str:
    tail, tip = (x - 17 * nx, y - 17 * ny), (x + 5 * nx, y + 5 * ny)
    left = (x - 5 * nx - 6 * ny, y - 5 * ny + 6 * nx)
    right = (x - 5 * nx + 6 * ny, y - 5 * ny - 6 * nx)
    shaft = element(
        "line", x1=tail[0], y1=tail[1], x2=x - 4 * nx, y2=y - 4 * ny,
        stroke=paint("water-line"), stroke_width=4,
    )  # fmt: skip
    return shaft + element("path", d=outline([left, tip, right]), fill=paint("water-line"))


def _low_point(plan: SurfacePlan, view: _View, paint: Paint) -> str:
    if plan.low_point is None:
        return ""
    x, y = view.at(plan.low_point)
    rings = [
        element("ellipse", cx=x, cy=y, rx=r, ry=r * 0.62, fill="none", stroke=paint("water-line"),
                stroke_width=2, opacity=opacity)
        for r, opacity in ((6.0, "1"), (12.0, "0.7"), (18.0, "0.4"))
    ]  # fmt: skip
    return "".join(rings)


def _room(plan: SurfacePlan, marks: Sequence[Mark], view: _View) -> Room:
    """The drawing with what no word may cover: the rings and the arrows."""
    room = Room(WIDTH, _TOP + view.height + _UNDER)
    room.taken += [_around(*view.at((mark.x_m, mark.y_m)), _RING + 2) for mark in marks]
    room.taken += [_around(x - 6 * nx, y - 6 * ny, 9) for x, y, nx, ny in _arrows(plan, view)]
    return room


def _around(x: float, y: float, reach: float) -> Box:
    return Box(x - reach, y - reach, 2 * reach, 2 * reach)


def _marks(marks: Sequence[Mark], view: _View, room: Room, paint: Paint) -> str:
    """Each spot with its words; lines first, then rings, so that neither covers a word."""
    at = [view.at((mark.x_m, mark.y_m)) for mark in marks]
    said = [(mark.label, mark.note, ring) for mark, ring in zip(marks, at, strict=True)]
    words = place_words(said, _RING, room)
    rings = [_ring(*ring, mark.zone, paint) for mark, ring in zip(marks, at, strict=True)]
    lines = [_leader(each, paint) for each in words]
    return "".join([*lines, *rings, *(_words(each, paint) for each in words)])


def _words(words: Words, paint: Paint) -> str:
    """The label of a spot, and its note below it."""
    halo = {"stroke": paint("void"), "stroke_width": 4, "paint_order": "stroke", "stroke_linejoin": "round"}
    x, anchor = words.x, words.anchor
    label = text(
        words.label, x, words.box.top + 14, text_anchor=anchor, font_size=LABEL_SIZE, font_weight=700,
        fill=paint("ink"), **halo,
    )  # fmt: skip
    note = text(
        words.note, x, words.box.top + 28, text_anchor=anchor, font_size=NOTE_SIZE, fill=paint("ink"), **halo
    )
    return label + (note if words.note else "")


def _leader(words: Words, paint: Paint) -> str:
    """A line from the ring to its words, where they had to give way to others."""
    (x, y), (to_x, to_y) = words.ring, words.leader
    far = hypot(to_x - x, to_y - y)
    if far < _RING + _LED:
        return ""
    from_x, from_y = x + (to_x - x) * _RING / far, y + (to_y - y) * _RING / far
    return element("line", x1=from_x, y1=from_y, x2=to_x, y2=to_y, stroke=paint("ink"), stroke_width=1)


def _corner_numbers(plan: SurfacePlan, view: _View, room: Room, paint: Paint) -> str:
    """The number of each corner in a small square, outside of it where there is room, so that it covers no spot."""
    xs, ys = zip(*(view.at(corner) for corner in plan.outline), strict=True)
    mid_x, mid_y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    drawn = []
    for number, (x, y) in enumerate(zip(xs, ys, strict=True), start=1):
        at_x, at_y = x + (12 if x >= mid_x else -12), y + (12 if y >= mid_y else -12)
        drawn.append(_corner_number(number, (x, y), room.take([_around(at_x, at_y, 8)]), paint))
    return "".join(drawn)


def _corner_number(number: int, corner: Point, box: Box, paint: Paint) -> str:
    x, y = box.left + 8, box.top + 8
    line = element("line", x1=corner[0], y1=corner[1], x2=x, y2=y, stroke=paint("ink"), stroke_width=1)
    square = element(
        "rect", x=box.left, y=box.top, width=16, height=16, rx=2, fill=paint("void"), stroke=paint("ink")
    )
    return (
        line + square + text(str(number), x, y + 4.5, text_anchor="middle", font_size=12, fill=paint("ink"))
    )


def _ring(x: float, y: float, zone: Zone, paint: Paint) -> str:
    """The test ring: full of water at the low spot, half full in the edge strip, empty inside."""
    ring = element("circle", cx=x, cy=y, r=_RING, fill=paint("void"), stroke=paint("ink"), stroke_width=3)
    if zone is Zone.INTERIOR:
        return ring
    if zone is Zone.LOW:
        return ring + element("circle", cx=x, cy=y, r=_RING - 2.5, fill=paint("water-line"))
    r = _RING - 2.5
    half = f"M{x - r:.1f} {y:.1f}a{r} {r} 0 0 0 {2 * r} 0z"
    return ring + element("path", d=half, fill=paint("water-line"))


def _scale_bar(view: _View, y: float, system: UnitSystem, paint: Paint) -> str:
    metres_a_unit, unit = (1.0, "m") if system is UnitSystem.SI else (MM_PER_FT / MM_PER_M, "ft")
    count = _round_length(110 / view.scale / metres_a_unit)
    end = _LEFT + count * metres_a_unit * view.scale
    bar = f"M{_LEFT:.1f} {y - 5:.1f}v10M{_LEFT:.1f} {y:.1f}H{end:.1f}M{end:.1f} {y - 5:.1f}v10"
    line = element("path", d=bar, fill="none", stroke=paint("ink"), stroke_width=2)
    return line + text(f"{count:g} {unit}", end + 8, y + 5, font_size=13, fill=paint("ink"))


def _strip_width(system: UnitSystem) -> str:
    metric = system is UnitSystem.SI
    return f"{short(EDGE_STRIP_M)} m" if metric else f"{fixed(EDGE_STRIP_M * MM_PER_M / MM_PER_FT, 1)} ft"


def _round_length(most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not over `most`."""
    power = 10.0 ** floor(log10(most))
    return max(step * power for step in (1, 2, 5) if step * power <= most)


def _legend(
    marks: Sequence[Mark], plan: SurfacePlan, y: float, system: UnitSystem, paint: Paint
) -> tuple[str, float]:
    rows = []
    for zone in (z for z in Zone if any(mark.zone is z for mark in marks)):
        words = _("test location, {zone}").format(zone=_short(zone))
        said = text(words, _LEFT + 18, y + 4, font_size=13, fill=paint("ink"))
        rows.append(_ring(_LEFT + 2, y, zone, paint) + said)
        y += _ROW
    if plan.run_on_edges:
        arrow = _arrow(_LEFT + 6, y, 1, 0, paint)
        said = _("water runs on; the strip beside it is {width} wide").format(width=_strip_width(system))
        rows.append(arrow + text(said, _LEFT + 18, y + 4, font_size=13, fill=paint("ink")))
        y += _ROW
    return "".join(rows), y


def _listed(marks: Sequence[Mark], y: float, paint: Paint) -> tuple[str, float]:
    """The notes of many spots, each behind its name, in columns, and where they end."""
    said = [_("{spot}: {note}").format(spot=mark.label, note=mark.note) for mark in marks if mark.note]
    widest = max((text_width(each, NOTE_SIZE) for each in said), default=1.0)
    columns = max(1, int((WIDTH - _LEFT) / max(widest + 8, _LIST_COLUMN)))
    rows = -(-len(said) // columns)
    left = _LEFT - 6 if columns > 1 else 4.0
    lines = [
        text(each, left + n // rows * (WIDTH - left) / columns, y + 4 + n % rows * _LIST_ROW, font_size=NOTE_SIZE,
             fill=paint("ink"))
        for n, each in enumerate(said)
    ]  # fmt: skip
    return "".join(lines), y + rows * _LIST_ROW


def _wrap(
    plan: SurfacePlan, marks: Sequence[Mark], name: str, id_prefix: str, height: float, parts: Sequence[str]
) -> str:
    title, about = f"{id_prefix}-title", f"{id_prefix}-about"
    return element(
        "svg",
        element("title", text_node(_("Plan of {name}").format(name=name)), id=title),
        element("desc", text_node(_in_words(plan, marks)), id=about),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH:g} {height:.0f}",
        role="img",
        aria_labelledby=f"{title} {about}",
        font_family="inherit",
    )


def _in_words(plan: SurfacePlan, marks: Sequence[Mark]) -> str:
    said = [_("An outline of {count} corners.").format(count=len(plan.outline))]
    if sides := len(plan.run_on_edges):
        over = ngettext(
            "Water runs on over {count} of its sides.", "Water runs on over {count} of its sides.", sides
        )
        said.append(over.format(count=sides))
    if plan.low_point:
        said.append(_("Its low point is marked."))
    return " ".join([*said, *map(_mark_in_words, marks)])


def _mark_in_words(mark: Mark) -> str:
    said = _("Location {label}: {zone}, {note}.") if mark.note else _("Location {label}: {zone}.")
    return said.format(label=mark.label, zone=_short(mark.zone), note=mark.note)
