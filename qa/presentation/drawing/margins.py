"""Beside the drawn ground: callouts with their leaders, dimensions, and the scale bar."""

from dataclasses import dataclass

from core.calc.translation import gettext as _
from core.calc.units import MM_PER_IN, UnitSystem
from core.presentation.lettering import spread, wrap
from core.presentation.svg import element, text
from qa.presentation.drawing.frame import Frame
from qa.presentation.drawing.wording import Lines, length_number

TEXT_SIZE = 12.0
_LINE_HEIGHT = 14.5
_GAP = 9.0
_TEXT_LEFT = 210.0
_TEXT_WIDTH = 140.0  # of 150 there are: some faces are wider than text_width says
_NUMBER_HEIGHT = 13.0


@dataclass(frozen=True, slots=True)
class Callout:
    """Words beside the drawing and the point they speak of, in drawing units."""

    x: float
    y: float
    lines: Lines


def measure_callout(lines: Lines) -> float:
    """Height of a callout with the space after it."""
    return len(_rows(lines)) * _LINE_HEIGHT + _GAP


def _rows(lines: Lines) -> list[tuple[str, bool]]:
    heading, material, values = lines
    rows = [(heading, True)]
    rows += [(row, False) for row in wrap(material, _TEXT_WIDTH, TEXT_SIZE, lines=3)]
    return rows + [(row, False) for row in wrap(values, _TEXT_WIDTH, TEXT_SIZE, lines=3)]


def draw_callouts(frame: Frame, callouts: list[Callout], width: float) -> tuple[str, float]:
    """Callouts in rising order of y, spread so that none covers another, and where the last one ends."""
    heights = [measure_callout(c.lines) for c in callouts]
    # The heading, not the middle of the block, should stand level with its layer.
    wishes = [c.y + h / 2 - _LINE_HEIGHT for c, h in zip(callouts, heights, strict=True)]
    centres = spread(wishes, heights, top=4.0)
    parts, end = [], 0.0
    for callout, height, centre in zip(callouts, heights, centres, strict=True):
        top = centre - height / 2
        parts.append(_leader(frame, callout, top + _LINE_HEIGHT * 0.62))
        parts.append(_words(frame, callout.lines, top))
        end = max(end, top + height)
    return "".join(parts), end


def _leader(frame: Frame, callout: Callout, y: float) -> str:
    """A dot in the layer, level to the rim, then slanting to the words. Orders agree, so none cross."""
    elbow = frame.right + 4
    line = f"M{callout.x:.1f} {callout.y:.1f}H{elbow:.1f}L{_TEXT_LEFT - 4:.1f} {y:.1f}"
    halo = element("path", d=f"M{callout.x:.1f} {callout.y:.1f}H{frame.right:.1f}", fill="none",
                   stroke=frame.paint("void"), stroke_width="3", opacity="0.85")  # fmt: skip
    stroke = element("path", d=line, fill="none", stroke=frame.paint("ink"), stroke_width="0.9")
    dot = element(
        "circle",
        cx=callout.x,
        cy=callout.y,
        r="2.6",
        fill=frame.paint("ink"),
        stroke=frame.paint("void"),
        stroke_width="1",
    )
    return halo + stroke + dot


def _words(frame: Frame, lines: Lines, top: float) -> str:
    rows = []
    for i, (content, bold) in enumerate(_rows(lines)):
        weight = "600" if bold else None
        y = top + _LINE_HEIGHT * (i + 1) - 2.5
        rows.append(text(content, _TEXT_LEFT, y, fill=frame.paint("ink"), font_weight=weight))
    return "".join(rows)


def draw_dimensions(frame: Frame, bands: list[tuple[float, float]], system: UnitSystem) -> str:
    """Dimension lines at the left: a tick at each boundary, the thickness beside it."""
    x, ink = frame.left - 6, frame.paint("ink")
    line = frame.paint("line")
    depths = sorted({depth for band in bands for depth in band})
    ticks = "".join(f"M{x - 3.5:.1f} {frame.y(d) + 2.5:.1f}l7 -5" for d in depths)
    rule = f"M{x:.1f} {frame.y(depths[0]):.1f}V{frame.y(depths[-1]):.1f}"
    middles = [frame.y((top + bottom) / 2) for top, bottom in bands]
    placed = spread(middles, [_NUMBER_HEIGHT] * len(bands), top=frame.top - 4)
    numbers = [
        text(length_number(bottom - top, system), x - 6, y + 4.3, text_anchor="end", fill=ink)
        for (top, bottom), y in zip(bands, placed, strict=True)
    ]
    unit = text("in" if system is UnitSystem.US else "mm", x + 3, 13.0, text_anchor="end", fill=ink)
    return element("path", d=rule + ticks, stroke=line, fill="none") + "".join(numbers) + unit


def draw_scale_bar(frame: Frame, y: float, system: UnitSystem) -> str:
    """A bar of a round length, which holds down as well as across."""
    unit_mm, unit = (MM_PER_IN, "in") if system is UnitSystem.US else (1.0, "mm")
    lengths = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000]
    shown = max((n for n in lengths if n * unit_mm * frame.scale <= 96), default=lengths[0])
    px = shown * unit_mm * frame.scale
    ink, paper = frame.paint("ink"), frame.paint("void")
    bars = "".join(
        element(
            "rect",
            x=frame.left + px * i / 4,
            y=y,
            width=px / 4,
            height=5.0,
            fill=ink if i % 2 == 0 else paper,
            stroke=ink,
            stroke_width="0.8",
        )
        for i in range(4)
    )
    return bars + text(
        _("{length}, both ways").format(length=f"{shown} {unit}"), frame.left, y + 19, fill=ink
    )
