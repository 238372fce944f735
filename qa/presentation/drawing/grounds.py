"""What lies under and between the stone: soil, sheets, boundaries of layers."""

from math import sin
from random import Random

from core.presentation.svg import element
from qa.calc.buildups import LayerKind
from qa.presentation.drawing.frame import Frame


def draw_soil(frame: Frame, depth_mm: float, height: float) -> str:
    """The subgrade, shown to a torn lower edge since it goes on; its height is not to scale."""
    top, rng = frame.y(depth_mm), Random(frame.seed + 5)
    steps = 30
    edge = "".join(
        f"L{frame.right - frame.width * i / steps:.1f} {top + height - 5 + 4 * sin(1.1 * i) * sin(0.37 * i + 1):.1f}"
        for i in range(steps + 1)
    )
    body = element(
        "path",
        d=f"M{frame.left:.1f} {top:.1f}H{frame.right:.1f}{edge}z",
        fill=frame.paint("soil"),
    )
    marks = []
    for row in range(int((height - 12) / 6)):
        y = top + 6 + row * 6
        x = frame.left + rng.uniform(0, 12)
        while x < frame.right:
            marks.append(f"M{x:.1f} {y + rng.uniform(-1, 1):.1f}h{rng.uniform(2, 7):.1f}")
            x += rng.uniform(12, 26)
    strokes = element(
        "path",
        d="".join(marks),
        stroke=frame.paint("soil-mark"),
        stroke_width="1.3",
        stroke_linecap="round",
        fill="none",
    )
    return body + strokes


def draw_boundary(frame: Frame, depth_mm: float) -> str:
    """A fine line at the top of a layer."""
    y = frame.y(depth_mm)
    return element(
        "path",
        d=f"M{frame.left:.1f} {y:.1f}H{frame.right:.1f}",
        stroke=frame.paint("line"),
        stroke_width="0.6",
        opacity="0.7",
    )


def draw_sheet(frame: Frame, kind: LayerKind, depth_mm: float) -> str:
    """A geotextile as a heavy dashed line, which water passes; a liner as a heavy unbroken one."""
    y = frame.y(depth_mm)
    line = f"M{frame.left:.1f} {y:.1f}H{frame.right:.1f}"
    halo = element("path", d=line, stroke=frame.paint("void"), stroke_width="5")
    dashes = "9 4" if kind is LayerKind.GEOTEXTILE else None
    return halo + element(
        "path", d=line, stroke=frame.paint("cloth"), stroke_width="3", stroke_dasharray=dashes
    )
