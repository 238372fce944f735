"""Surface courses of the nine kinds, drawn to scale: units with their joints, grids, bound stone."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from core.calc.paving import SurfaceType
from core.presentation.svg import element, outline
from qa.calc.buildups import LayerKind
from qa.presentation.drawing.frame import COARSE, FINE, Box, Frame, StoneLook, draw_stones
from qa.presentation.drawing.record import BuildUp, Layer

JOINT_AT = 0.68  # share of the drawn width where a joint always falls, so that it can be pointed at

_UNIT_LENGTH_MM = {
    SurfaceType.PICP: 200.0,
    SurfaceType.CLAY: 200.0,
    SurfaceType.RESIN_JOINT: 180.0,
    SurfaceType.CONCRETE_GRID: 100.0,
    SurfaceType.PLASTIC_GRID: 62.0,
}
_JOINT_WIDTH_MM = {
    SurfaceType.PICP: 9.0,
    SurfaceType.CLAY: 5.0,
    SurfaceType.RESIN_JOINT: 10.0,
    SurfaceType.CONCRETE_GRID: 62.0,
    SurfaceType.PLASTIC_GRID: 58.0,
}
_UNIT_COLOURS = {
    SurfaceType.PICP: ("unit", "unit-shade"),
    SurfaceType.CLAY: ("clay", "clay-shade"),
    SurfaceType.RESIN_JOINT: ("slab", "slab-shade"),
    SurfaceType.CONCRETE_GRID: ("unit", "unit-shade"),
    SurfaceType.PLASTIC_GRID: ("plastic", "plastic"),
}
_BOUND = {
    SurfaceType.RESIN_BOUND: ("resin", StoneLook(("resin-a", "resin-b", "resin-c"), "resin-b", None, 0.8)),
    SurfaceType.PERVIOUS_CONCRETE: (
        "cement",
        StoneLook(("cement-a", "cement-b", "cement-c"), "cement", None, 0.5),
    ),
    SurfaceType.POROUS_ASPHALT: (
        "bitumen",
        StoneLook(("bitumen-a", "bitumen-b", "bitumen-c"), "bitumen", None, 0.1),
    ),
}
_BOUND_SIZES_MM = {
    SurfaceType.RESIN_BOUND: (2.0, 6.0),
    SurfaceType.PERVIOUS_CONCRETE: (5.0, 10.0),
    SurfaceType.POROUS_ASPHALT: (3.0, 12.0),
}
_BOUND_POROSITY = 0.2


@dataclass(frozen=True, slots=True)
class Gap:
    """An opening between units: millimetres along the drawing."""

    x0: float
    x1: float


def draw_course(frame: Frame, build_up: BuildUp, layer: Layer, top: float) -> str:
    """The surface course from a depth in mm downwards."""
    kind = build_up.surface_type
    draw: Callable[[Frame, BuildUp, Layer, float], str] = _draw_units
    if kind in _BOUND:
        draw = _draw_bound
    elif kind is SurfaceType.GRAVEL:
        draw = _draw_gravel
    return draw(frame, build_up, layer, top)


def joint_gaps(frame: Frame, build_up: BuildUp) -> list[Gap]:
    """Openings from left to right, some of them reaching over the ends of the drawing."""
    width = build_up.joint_width_mm or _JOINT_WIDTH_MM.get(build_up.surface_type)
    if width is None:
        return []
    pitch = _pitch(build_up, width)
    first = (JOINT_AT * frame.width_mm - width / 2) % pitch - pitch
    count = int(frame.width_mm / pitch) + 2
    return [Gap(first + i * pitch, first + i * pitch + width) for i in range(count)]


def _pitch(build_up: BuildUp, joint_width: float) -> float:
    """Grids are measured from web to web, pavers by their own length plus a joint."""
    length = build_up.unit_length_mm or _UNIT_LENGTH_MM[build_up.surface_type]
    is_grid = build_up.surface_type in (SurfaceType.CONCRETE_GRID, SurfaceType.PLASTIC_GRID)
    return max(length, joint_width * 1.02) if is_grid else length + joint_width


def _draw_units(frame: Frame, build_up: BuildUp, layer: Layer, top: float) -> str:
    bottom = top + layer.thickness_mm
    gaps = joint_gaps(frame, build_up)
    parts = [frame.rect(0, frame.width_mm, top, bottom, fill=frame.paint("void"))]
    filling = build_up.first(LayerKind.JOINT_FILL)
    if filling:
        fill_top = bottom - min(filling.thickness_mm, layer.thickness_mm)
        parts += [_draw_joint(frame, build_up, filling, gap, fill_top, bottom) for gap in gaps]
    edges = [(a.x1, b.x0) for a, b in pairwise(gaps)]
    parts += [_draw_unit(frame, build_up, x0, x1, top, bottom) for x0, x1 in [*edges, _last(frame, gaps)]]
    return "".join(parts)


def _last(frame: Frame, gaps: list[Gap]) -> tuple[float, float]:
    length = gaps[1].x0 - gaps[0].x1
    return gaps[-1].x1, max(gaps[-1].x1 + length, frame.width_mm)


def _draw_joint(frame: Frame, build_up: BuildUp, filling: Layer, gap: Gap, top: float, bottom: float) -> str:
    if gap.x1 <= 0 or gap.x0 >= frame.width_mm:
        return ""
    with_resin = build_up.surface_type is SurfaceType.RESIN_JOINT
    behind = frame.rect(gap.x0, gap.x1, top, bottom, fill=frame.paint("resin" if with_resin else "void"))
    low, high = stone_sizes(filling, 2.0, 6.0)
    high = min(high, max(gap.x1 - gap.x0, 1.0) * 0.7)
    box = Box(gap.x0, gap.x1, top, bottom, min(low, high), high, 0.3 if with_resin else 0.38)
    # one seed for all joints would repeat the same stones, so the place of the joint is mixed in
    return behind + draw_stones(frame, box, FINE, salt=7 + round(gap.x0))


def _draw_unit(frame: Frame, build_up: BuildUp, x0: float, x1: float, top: float, bottom: float) -> str:
    face, shade = _UNIT_COLOURS[build_up.surface_type]
    kind, rng = build_up.surface_type, Random(frame.seed + round(x0))
    thickness = bottom - top
    bevel = min(5.0, thickness / 6, (x1 - x0) / 6) if kind in (SurfaceType.PICP, SurfaceType.CLAY) else 0.0
    corners = [
        (x0 + bevel, top), (x1 - bevel, top), (x1, top + bevel), (x1, bottom), (x0, bottom), (x0, top + bevel),
    ]  # fmt: skip
    if kind is SurfaceType.RESIN_JOINT:
        corners = _rough_slab(x0, x1, top, bottom, rng)
    path = outline((frame.x(x), frame.y(y)) for x, y in corners)
    body = element(
        "path", d=path, fill=frame.paint(face), stroke=frame.paint("unit-edge"), stroke_width="0.9"
    )
    if kind is SurfaceType.PLASTIC_GRID:
        return body
    return body + _specks(frame, (x0, x1, top, bottom), shade, rng)


def _rough_slab(x0: float, x1: float, top: float, bottom: float, rng: Random) -> list[tuple[float, float]]:
    """A split stone: faces a little uneven, never over its neighbour's ground."""
    give = min(4.0, (bottom - top) / 10)
    upper = [(x0 + (x1 - x0) * i / 5, top + rng.uniform(0, give / 2)) for i in range(6)]
    lower = [(x1 - (x1 - x0) * i / 5, bottom - rng.uniform(0, give)) for i in range(6)]
    return upper + lower


def _specks(frame: Frame, box: tuple[float, float, float, float], colour: str, rng: Random) -> str:
    x0, x1, top, bottom = box
    left, right = max(x0, 0.0), min(x1, frame.width_mm)
    if right - left < 6 or bottom - top < 6:
        return ""
    count = int((right - left) * (bottom - top) * frame.scale**2 / 45)
    dots = []
    for _ in range(min(count, 160)):
        x, y = frame.x(rng.uniform(left + 2, right - 2)), frame.y(rng.uniform(top + 3, bottom - 2))
        dots.append(f"M{x:.1f} {y:.1f}h{rng.choice((0.1, 0.1, 0.8, 1.6))}")
    return element(
        "path",
        d="".join(dots),
        stroke=frame.paint(colour),
        stroke_width="1.1",
        stroke_linecap="round",
        fill="none",
    )


def _draw_bound(frame: Frame, build_up: BuildUp, layer: Layer, top: float) -> str:
    """Stone in one piece: a body of binder, stones in it, voids where the binder leaves off."""
    binder, look = _BOUND[build_up.surface_type]
    bottom = top + layer.thickness_mm
    low, high = stone_sizes(layer, *_BOUND_SIZES_MM[build_up.surface_type])
    porosity = _BOUND_POROSITY if layer.porosity is None else layer.porosity
    body = frame.rect(0, frame.width_mm, top, bottom, fill=frame.paint(binder))
    box = Box(0, frame.width_mm, top, bottom, low, high, 0.3)
    stones = draw_stones(frame, box, look, salt=3)
    return body + stones + _voids(frame, top, bottom, (low + high) / 2, porosity)


def _voids(frame: Frame, top: float, bottom: float, stone_mm: float, porosity: float) -> str:
    """Voids of bound stone as small polygons that together take up the stated share of the cut."""
    rng = Random(frame.seed + 17)
    size = max(stone_mm * 0.55, 2.4 / frame.scale)
    count = min(int(frame.width_mm * (bottom - top) * porosity / (0.6 * size * size)), 900)
    paths = []
    for _ in range(count):
        x, y = rng.uniform(0, frame.width_mm), rng.uniform(top + size / 2, bottom - size / 2)
        corners = [(x + size * dx * rng.uniform(0.5, 1.2) / 2, y + size * dy * rng.uniform(0.5, 1.2) / 2)
                   for dx, dy in ((-1, -0.2), (-0.1, -1), (1, -0.3), (0.8, 0.7), (-0.5, 0.9))]  # fmt: skip
        paths.append(outline((frame.x(px), frame.y(py)) for px, py in corners))
    return element("path", d="".join(paths), fill=frame.paint("void")) if paths else ""


def _draw_gravel(frame: Frame, build_up: BuildUp, layer: Layer, top: float) -> str:
    bottom = top + layer.thickness_mm
    low, high = stone_sizes(layer, 6.0, 16.0)
    porosity = 0.4 if layer.porosity is None else layer.porosity
    box = Box(0, frame.width_mm, top, bottom, low, high, porosity)
    void = frame.rect(0, frame.width_mm, top, bottom, fill=frame.paint("void"))
    return void + draw_stones(frame, box, COARSE, salt=5)


def stone_sizes(layer: Layer, low: float, high: float) -> tuple[float, float]:
    """Smallest and largest stone in mm; what the record lacks is filled in from the given sizes."""
    largest = layer.stone_max_mm or max(high, (layer.stone_min_mm or 0) * 2)
    smallest = layer.stone_min_mm or min(low, largest / 3)
    return max(min(smallest, largest), largest / 8), largest
