"""The build-up as a true-to-scale cross-section, drawn from the record as SVG text.

One scale holds down and across, so stones, joints, pipe and layers keep their true proportions.
The drawing is 360 units wide with lettering of 12 units or more, so it reads on a phone.
"""

from dataclasses import dataclass, replace

from core.calc.units import UnitSystem
from core.presentation.svg import element, text_node
from qa.calc.buildups import SHEETS, LayerKind
from qa.presentation.drawing.courses import JOINT_AT, draw_course, stone_sizes
from qa.presentation.drawing.frame import COARSE, FINE, MOST_STONES_IN_A_LAYER, Box, Frame, draw_stones
from qa.presentation.drawing.grounds import draw_boundary, draw_sheet, draw_soil
from qa.presentation.drawing.margins import (
    Callout,
    draw_callouts,
    draw_dimensions,
    draw_scale_bar,
    measure_callout,
)
from qa.presentation.drawing.palette import Paint
from qa.presentation.drawing.record import STACKED, BuildUp, Layer, Overflow
from qa.presentation.drawing.water import (
    draw_pipe,
    draw_water,
    draw_water_lines,
    water_callouts,
    water_lines,
)
from qa.presentation.drawing.wording import describe, layer_lines, title_of

__all__ = ["BuildUp", "Layer", "LayerKind", "Overflow", "draw_section", "size_of_section"]

WIDTH = 360.0
_LEFT, _GROUND_WIDTH, _TOP = 50.0, 141.0, 22.0
_SOIL_HEIGHT = 44.0
_FINE_UP_TO_MM = 10.0
_USUAL_SIZES_MM = {
    LayerKind.BEDDING: (2.4, 9.5),
    LayerKind.BOUND_BED: (2.0, 8.0),
    LayerKind.BASE: (5.0, 25.0),
    LayerKind.SUBBASE: (19.0, 63.0),
}


@dataclass(frozen=True, slots=True)
class Band:
    """A layer with the depths it lies between, in mm below the surface."""

    layer: Layer
    top: float
    bottom: float


def draw_section(
    build_up: BuildUp,
    *,
    system: UnitSystem = UnitSystem.SI,
    seed: int = 1,
    css_variables: bool = True,
    id_prefix: str = "section",
    most_stones: int = MOST_STONES_IN_A_LAYER,
) -> str:
    """The cross-section as SVG text with a title and a description in words.

    system: units of the lettering. seed: which stones are drawn; the same seed, the same picture.
    css_variables: colours that follow the page's theme; False gives plain colours for paper.
    id_prefix: keeps ids apart where one page shows several sections. most_stones: drawn in a layer; fewer are drawn
    sooner, and are lighter to send.
    """
    paint = Paint(css_variables)
    laid = _lay_out(build_up, system, Frame(1.0, _LEFT, _TOP, _GROUND_WIDTH, paint, seed, most_stones))
    frame, bands = laid.frame, laid.bands
    ground = _draw_ground(frame, build_up, bands, id_prefix)
    dimensions = draw_dimensions(frame, [(b.top, b.bottom) for b in bands if b.layer.kind in STACKED], system)
    parts = [_clip(frame, laid.ground_end, id_prefix), ground, dimensions, laid.callouts]
    parts.append(draw_scale_bar(frame, laid.bar_y, system))
    return _wrap(build_up, system, id_prefix, laid.height, parts, css_variables)


def size_of_section(build_up: BuildUp, *, system: UnitSystem = UnitSystem.SI) -> tuple[float, float]:
    """Width and height that the drawing will have, without laying a stone."""
    laid = _lay_out(build_up, system, Frame(1.0, _LEFT, _TOP, _GROUND_WIDTH, Paint(css_variables=True), 1))
    return WIDTH, round(laid.height)


@dataclass(frozen=True, slots=True)
class _Laid:
    """Where everything of a section comes to lie; callouts as markup. frame: at the scale that fits."""

    frame: Frame
    bands: list[Band]
    callouts: str
    ground_end: float
    bar_y: float
    height: float


def _lay_out(build_up: BuildUp, system: UnitSystem, frame: Frame) -> _Laid:
    bands = _bands(build_up)
    height = min(620.0, max(250.0, _callouts_height(build_up, system) - _SOIL_HEIGHT))
    frame = replace(frame, scale=min(2.4, height / build_up.depth_mm))
    ground_end = frame.y(build_up.depth_mm) + _SOIL_HEIGHT
    callouts, callouts_end = draw_callouts(frame, _callouts(frame, build_up, bands, system), WIDTH)
    bar_y = ground_end + 16
    return _Laid(frame, bands, callouts, ground_end, bar_y, max(bar_y + 30, callouts_end + 8))


def _callouts_height(build_up: BuildUp, system: UnitSystem) -> float:
    lines = [layer_lines(layer, system) for layer in build_up.layers]
    return sum(measure_callout(each) for each in [*lines, *water_lines(build_up, system)])


def _bands(build_up: BuildUp) -> list[Band]:
    """Every layer with its depths: sheets at their place in the order, joint fill inside the course."""
    bands, depth = [], 0.0
    for layer in build_up.layers:
        if layer.kind in STACKED:
            bands.append(Band(layer, depth, depth + layer.thickness_mm))
            depth += layer.thickness_mm
        elif layer.kind is LayerKind.JOINT_FILL:
            course = build_up.stacked[0].thickness_mm
            bands.append(Band(layer, max(0.0, course - layer.thickness_mm), course))
        else:
            bands.append(Band(layer, depth, depth))
    return bands


def _draw_ground(frame: Frame, build_up: BuildUp, bands: list[Band], prefix: str) -> str:
    """Everything that is clipped to the drawn width of ground, from the back to the front."""
    stone = [b for b in bands if b.layer.kind in STACKED and b.layer.kind is not LayerKind.SURFACE_COURSE]
    parts = [frame.rect(0, frame.width_mm, b.top, b.bottom, fill=frame.paint(_ground_of(b))) for b in stone]
    parts.append(draw_water(frame, build_up))
    parts += [_draw_stone_layer(frame, band, salt) for salt, band in enumerate(stone, start=100)]
    parts += [
        draw_course(frame, build_up, b.layer, b.top)
        for b in bands
        if b.layer.kind is LayerKind.SURFACE_COURSE
    ]
    parts.append(draw_soil(frame, build_up.depth_mm, _SOIL_HEIGHT))
    parts += [draw_boundary(frame, b.top) for b in stone]
    parts += [draw_sheet(frame, b.layer.kind, b.top) for b in bands if b.layer.kind in SHEETS]
    parts.append(draw_water_lines(frame, build_up))
    parts.append(draw_pipe(frame, build_up))
    clipped = element("g", *parts, clip_path=f"url(#{prefix}-ground)")
    rim = element("path", d=f"M{frame.left} {frame.top}H{frame.right}", stroke=frame.paint("ink"))
    return clipped + rim


def _ground_of(band: Band) -> str:
    """What lies between the stones: cement in a bound bed, else air."""
    return "cement" if band.layer.kind is LayerKind.BOUND_BED else "void"


def _draw_stone_layer(frame: Frame, band: Band, salt: int) -> str:
    low, high = stone_sizes(band.layer, *_USUAL_SIZES_MM[band.layer.kind])
    porosity = 0.4 if band.layer.porosity is None else band.layer.porosity
    look = FINE if high <= _FINE_UP_TO_MM else COARSE
    return draw_stones(frame, Box(0, frame.width_mm, band.top, band.bottom, low, high, porosity), look, salt)


def _clip(frame: Frame, ground_end: float, prefix: str) -> str:
    shape = element(
        "rect", x=frame.left, y=frame.top - 1, width=frame.width, height=ground_end - frame.top + 1
    )
    return element("clipPath", shape, id=f"{prefix}-ground")


def _callouts(frame: Frame, build_up: BuildUp, bands: list[Band], system: UnitSystem) -> list[Callout]:
    found = [
        Callout(_point_x(frame, band), _point_y(frame, build_up, band), layer_lines(band.layer, system))
        for band in bands
    ]
    return sorted([*found, *water_callouts(frame, build_up, system)], key=lambda c: c.y)


def _point_x(frame: Frame, band: Band) -> float:
    """A joint is pointed at where it is drawn, everything else at the right-hand end."""
    return frame.x(JOINT_AT * frame.width_mm) if band.layer.kind is LayerKind.JOINT_FILL else frame.right - 3


def _point_y(frame: Frame, build_up: BuildUp, band: Band) -> float:
    kind = band.layer.kind
    if kind is LayerKind.SUBGRADE:
        return frame.y(band.top) + _SOIL_HEIGHT * 0.55
    if kind in SHEETS:
        return frame.y(band.top)
    shares = {LayerKind.SURFACE_COURSE: 0.3, LayerKind.JOINT_FILL: 0.65}
    share = shares.get(kind, 0.5) if build_up.first(LayerKind.JOINT_FILL) else 0.5
    return frame.y(band.top + share * (band.bottom - band.top))


# On paper nothing is inherited; letters of the widest of these fit the callouts.
_FACES = "system-ui, 'Segoe UI', Roboto, 'Noto Sans', 'DejaVu Sans', 'Libertinus Serif', sans-serif"


def _wrap(
    build_up: BuildUp, system: UnitSystem, prefix: str, height: float, parts: list[str], on_page: bool
) -> str:
    title = element("title", text_node(title_of(build_up)), id=f"{prefix}-title")
    words = element("desc", text_node(describe(build_up, system)), id=f"{prefix}-desc")
    return element(
        "svg",
        title,
        words,
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH:g} {height:.0f}",
        role="img",
        aria_labelledby=f"{prefix}-title",
        aria_describedby=f"{prefix}-desc",
        font_family="inherit" if on_page else _FACES,
        font_size="12",
    )
