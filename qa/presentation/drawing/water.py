"""Water in the section: what stays below the overflow, what is kept for reuse, and the pipe."""

from core.calc.units import UnitSystem
from core.presentation.svg import element
from qa.presentation.drawing.frame import Frame
from qa.presentation.drawing.margins import Callout
from qa.presentation.drawing.record import BuildUp
from qa.presentation.drawing.wording import Lines, overflow_lines, reuse_lines

_PIPE_AT = 0.3  # share of the drawn width
_PIPE_WALL_MM = 5.0


def levels(build_up: BuildUp) -> list[tuple[str, float]]:
    """Colour name and height above the subgrade in mm of each body of water, highest first."""
    found = []
    if build_up.overflow and build_up.overflow.invert_above_subgrade_mm > 0:
        found.append(("water", build_up.overflow.invert_above_subgrade_mm))
    if build_up.reuse_depth_mm:
        found.append(("reuse", build_up.reuse_depth_mm))
    return sorted(found, key=lambda level: -level[1])


def draw_water(frame: Frame, build_up: BuildUp) -> str:
    """Water in the voids; the stones are drawn over it."""
    return "".join(
        frame.rect(
            0,
            frame.width_mm,
            build_up.depth_mm - height,
            build_up.depth_mm,
            fill=frame.paint(colour),
        )
        for colour, height in levels(build_up)
    )


def draw_water_lines(frame: Frame, build_up: BuildUp) -> str:
    """The levels, with the tint the water lends to the stones below them."""
    parts = []
    for colour, height in levels(build_up):
        top = build_up.depth_mm - height
        y = frame.y(top)
        parts.append(
            frame.rect(0, frame.width_mm, top, build_up.depth_mm, fill=frame.paint(colour), opacity="0.28")
        )
        parts.append(
            element(
                "path",
                d=f"M{frame.left:.1f} {y:.1f}H{frame.right:.1f}",
                stroke=frame.paint("water-line"),
                stroke_width="1.4",
                stroke_dasharray="5 3",
            )
        )
        parts.append(_level_mark(frame, y))
    return "".join(parts)


def _level_mark(frame: Frame, y: float) -> str:
    """The draughtsman's mark of a water level: a triangle standing on the line."""
    x = frame.left + 13
    return element(
        "path",
        d=f"M{x:.1f} {y:.1f}l-5 -8h10z",
        fill=frame.paint("void"),
        stroke=frame.paint("water-line"),
        stroke_width="1.3",
        stroke_linejoin="round",
    )


def draw_pipe(frame: Frame, build_up: BuildUp) -> str:
    """The overflow pipe cut across, its inside resting at the invert."""
    if build_up.overflow is None:
        return ""
    radius = build_up.overflow.diameter_mm / 2
    middle = build_up.depth_mm - build_up.overflow.invert_above_subgrade_mm - radius
    wall = max(_PIPE_WALL_MM * frame.scale, 2.2)
    return element(
        "circle",
        cx=_pipe_x(frame, build_up),
        cy=frame.y(middle),
        r=radius * frame.scale + wall / 2,
        fill=frame.paint("pipe"),
        stroke=frame.paint("ink"),
        stroke_width=wall,
    )


def _pipe_x(frame: Frame, build_up: BuildUp) -> float:
    radius = build_up.overflow.diameter_mm / 2 if build_up.overflow else 0.0
    at = max(_PIPE_AT * frame.width_mm, radius + 36 / frame.scale)
    return frame.x(min(at, max(frame.width_mm - radius * 1.2, frame.width_mm / 2)))


def water_lines(build_up: BuildUp, system: UnitSystem) -> list[Lines]:
    """What is written about the pipe and about the water kept for reuse."""
    found = [overflow_lines(build_up, system)] if build_up.overflow else []
    return [*found, reuse_lines(build_up, system)] if build_up.reuse_depth_mm else found


def water_callouts(frame: Frame, build_up: BuildUp, system: UnitSystem) -> list[Callout]:
    """What stands beside the pipe and beside the water kept for reuse."""
    found = []
    if build_up.overflow:
        depth = build_up.depth_mm - build_up.overflow.invert_above_subgrade_mm
        x = _pipe_x(frame, build_up) + build_up.overflow.diameter_mm / 2 * frame.scale
        y = frame.y(depth - build_up.overflow.diameter_mm / 2)
        found.append(Callout(min(x, frame.right - 3), y, overflow_lines(build_up, system)))
    if build_up.reuse_depth_mm:
        y = frame.y(build_up.depth_mm - build_up.reuse_depth_mm)
        found.append(Callout(frame.right - 3, y, reuse_lines(build_up, system)))
    return found
