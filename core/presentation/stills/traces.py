"""What a still chart shows of each trace of a figure: areas, lines, bars, marks, ranges and words."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from html import unescape
from math import inf
from typing import Any

from core.presentation.stills.scales import Scale
from core.presentation.stills.symbols import symbol
from core.presentation.svg import Point, element, open_line, outline, text

Trace = Mapping[str, Any]
DASHES = {"dash": "7 5", "dot": "2 4", "dashdot": "8 4 2 4", "longdash": "12 6"}
COLOURS = 6
MARK, LETTERS = 8.0, 13
SHRINK = 0.75  # marks and lines of a figure are made for a wider screen
BAR_SHARE = 0.8


@dataclass(frozen=True, slots=True)
class Plot:
    """The two scales, a second one for heights, and how bars lie. key: keeps the ids of hatches apart."""

    x: Scale
    y: Scale
    key: str
    is_stacked: bool = False
    gap: float = 1.0 - BAR_SHARE
    y2: Scale | None = None
    bars: Sequence[Trace] = field(default_factory=tuple)

    def heights(self, trace: Trace) -> Scale:
        """The scale that a trace is read on."""
        return self.y2 if self.y2 and trace.get("yaxis") == "y2" else self.y


def colour_of(trace: Trace, number: int) -> str:
    """The colour that a trace is known by, in the legend too."""
    for part in ("marker", "line"):
        if isinstance(said := trace.get(part, {}).get("color"), str):
            return said
    return str(trace.get("fillcolor") or f"var(--chart-{number % COLOURS + 1})")


def drawn(trace: Trace, number: int, plot: Plot) -> str:
    """One trace."""
    if trace["type"] == "bar":
        return "".join(_bars(trace, number, plot))
    mode = trace.get("mode", "lines+markers")
    points = [(plot.x.at(x), plot.heights(trace).at(y)) for x, y in zip(trace["x"], trace["y"], strict=True)]
    parts = [_area(trace, points), *_ranges(trace, number, plot)]
    if "lines" in mode:
        parts.append(_line(trace, number, points))
    if "markers" in mode:
        parts += _marks(trace, number, points)
    if "text" in mode:
        parts += _words(trace, points)
    return _faint(trace, "".join(parts))


def _faint(trace: Trace, content: str) -> str:
    return (
        element("g", content, opacity=f"{trace['opacity']:g}") if "opacity" in trace and content else content
    )


def whole(points: Sequence[tuple[float | None, float | None]]) -> list[Point]:
    """The points that have a place."""
    return [(x, y) for x, y in points if x is not None and y is not None]


def _area(trace: Trace, points: Sequence[tuple[float | None, float | None]]) -> str:
    corners = whole(points)
    if trace.get("fill") != "toself" or len(corners) < 3:
        return ""
    return element("path", d=outline(_apart(corners)), fill=trace["fillcolor"])


def _apart(points: Sequence[Point]) -> list[Point]:
    """Without points that nobody could tell from the one before."""
    kept, last = [], (inf, inf)
    for point in points:
        if abs(point[0] - last[0]) + abs(point[1] - last[1]) >= 0.5:
            kept.append(point)
            last = point
    return kept


def _line(trace: Trace, number: int, points: Sequence[tuple[float | None, float | None]]) -> str:
    """A line with a gap where a value is missing."""
    look = trace.get("line", {})
    width = look.get("width", 2) * SHRINK
    pieces = [_apart(piece) for piece in _unbroken(points)]
    d = "".join(open_line(piece) for piece in pieces if len(piece) > 1)
    if not width or not d:
        return ""
    colour = look.get("color") or colour_of(trace, number)
    dash = DASHES.get(look.get("dash", ""))
    return element("path", d=d, fill="none", stroke=colour, stroke_width=float(width), stroke_dasharray=dash)


def _unbroken(points: Sequence[tuple[float | None, float | None]]) -> Iterator[list[Point]]:
    piece: list[Point] = []
    for x, y in points:
        if x is None or y is None:
            yield piece
            piece = []
        else:
            piece.append((x, y))
    yield piece


def _marks(trace: Trace, number: int, points: Sequence[tuple[float | None, float | None]]) -> Iterator[str]:
    look = trace.get("marker", {})
    colour, edge = colour_of(trace, number), look.get("line", {})
    drawing = "".join(
        symbol(
            _each(look.get("symbol", "circle"), i),
            x,
            y,
            _each(look.get("size", MARK), i) * SHRINK,
            edge.get("color", colour),
            edge.get("width", 2) * SHRINK,
        )
        for i, (x, y) in enumerate(points)
        if x is not None and y is not None
    )
    yield _faint(look, drawing)


def _each(said: Any, i: int) -> Any:
    """What holds for one point where a trace says it for all or for each."""
    return said if isinstance(said, str | int | float) else said[i]


def _words(trace: Trace, points: Sequence[tuple[float | None, float | None]]) -> Iterator[str]:
    where = trace.get("textposition", "top center")
    for i, ((x, y), words) in enumerate(zip(points, trace.get("text", ()), strict=False)):
        if x is not None and y is not None:
            down = 20.0 if _each(where, i).startswith("bottom") else -11.0
            yield text(
                unescape(words), x, y + down, text_anchor="middle", font_size=LETTERS, fill="var(--chart-ink)"
            )


def _ranges(trace: Trace, number: int, plot: Plot) -> Iterator[str]:
    """Bars of a range about each point, along either axis."""
    for axis, along in (("error_x", True), ("error_y", False)):
        said = trace.get(axis)
        if said:
            colour = said.get("color") or colour_of(trace, number)
            d = "".join(_range(ends, across, plot, along) for ends, across in range_ends(trace, axis))
            yield element("path", d=d, stroke=colour, stroke_width=1.5, fill="none")


def range_ends(trace: Trace, axis: str) -> Iterator[tuple[tuple[float, float], Any]]:
    """Both ends of the range of each point that has one, and where it stands on the other axis."""
    said = trace.get(axis) or {}
    own, other = ("x", "y") if axis == "error_x" else ("y", "x")
    less = said.get("arrayminus") or said.get("array", ())
    for value, across, up, down in zip(trace[own], trace[other], said.get("array", ()), less, strict=False):
        if value is not None and up is not None and down is not None:
            yield (value - down, value + up), across


def _range(ends: tuple[float, float], across: Any, plot: Plot, along: bool) -> str:
    own, other = (plot.x, plot.y) if along else (plot.y, plot.x)
    low, high, where = own.at(ends[0]), own.at(ends[1]), other.at(across)
    if low is None or high is None or where is None:
        return ""
    path = f"M{low:.1f} {where:.1f}H{high:.1f}" if along else f"M{where:.1f} {low:.1f}V{high:.1f}"
    caps = [
        f"M{end:.1f} {where - 3:.1f}v6" if along else f"M{where - 3:.1f} {end:.1f}h6" for end in (low, high)
    ]
    return path + "".join(caps)


def is_level(trace: Trace) -> bool:
    """Whether its bars lie from left to right."""
    return trace.get("orientation") == "h"


def stacks(bars: Sequence[Trace], is_stacked: bool) -> list[list[tuple[float, float]]]:
    """From where to where each bar of each trace reaches; on one another where they are stacked."""
    reached: dict[Any, float] = {}
    found = []
    for trace in bars:
        names, lengths = (trace["y"], trace["x"]) if is_level(trace) else (trace["x"], trace["y"])
        ends = []
        for name, length in zip(names, lengths, strict=True):
            start = reached.get(name, 0.0) if is_stacked else 0.0
            reached[name] = start + float(length or 0.0)
            ends.append((start, reached[name] if is_stacked else float(length or 0.0)))
        found.append(ends)
    return found


def _bars(trace: Trace, number: int, plot: Plot) -> Iterator[str]:
    which = next(i for i, bar in enumerate(plot.bars) if bar is trace)
    level = is_level(trace)
    along, across = (plot.x, plot.y) if level else (plot.y, plot.x)
    fill = _fill(trace, number, plot)
    side_by_side = 1 if plot.is_stacked else len(plot.bars)
    width = abs(across.place(1.0) - across.place(0.0)) * (1.0 - plot.gap) / side_by_side
    shift = 0.0 if plot.is_stacked else (which - (side_by_side - 1) / 2) * width
    names = trace["y"] if level else trace["x"]
    if pattern := _hatch(trace, number, plot):
        yield pattern
    for name, ends in zip(names, stacks(plot.bars, plot.is_stacked)[which], strict=True):
        middle, low, high = across.at(name), along.at(ends[0]), along.at(ends[1])
        if middle is not None and low is not None and high is not None and abs(high - low) >= 0.05:
            yield _box(middle + shift - width / 2, width, min(low, high), abs(high - low), level, fill)
    yield from _ranges(trace, number, plot)


def _box(side: float, width: float, start: float, length: float, level: bool, fill: str) -> str:
    x, y, across, up = (start, side, length, width) if level else (side, start, width, length)
    return element("rect", x=x, y=y, width=across, height=up, fill=fill)


HATCHES = {"/": "M0 6L6 0", "x": "M0 6L6 0M0 0L6 6", "-": "M0 3H6", "|": "M3 0V6", ".": "M2 3h2"}


def hatch_of(trace: Trace) -> str:
    """The lines across a bar, by which it is told apart without its colour; empty for none."""
    return HATCHES.get(trace.get("marker", {}).get("pattern", {}).get("shape", ""), "")


def _fill(trace: Trace, number: int, plot: Plot) -> str:
    return f"url(#{plot.key}-hatch-{number})" if hatch_of(trace) else colour_of(trace, number)


def _hatch(trace: Trace, number: int, plot: Plot) -> str:
    path = hatch_of(trace)
    if not path:
        return ""
    ground = element("rect", width=6, height=6, fill=colour_of(trace, number))
    lines = element("path", d=path, stroke="var(--chart-paper)", stroke_width=1.4, fill="none")
    return element(
        "pattern",
        ground,
        lines,
        id=f"{plot.key}-hatch-{number}",
        width=6,
        height=6,
        patternUnits="userSpaceOnUse",
    )
