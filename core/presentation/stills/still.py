"""A chart's first picture: the plain data of a figure drawn as SVG, so that a page shows it without a script.

It is narrow enough for its letters to be read on a phone. The words around it (title, summary, table) are its text
alternative. Colours stay named as the figure names them, so one drawing serves light, dark and paper.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import unescape
from typing import Any

from core.presentation.lettering import text_width, wrap
from core.presentation.stills.scales import Scale, Tick, kind_of, scale_of, ticks_of
from core.presentation.stills.symbols import symbol
from core.presentation.stills.traces import (
    DASHES,
    LETTERS,
    Plot,
    Trace,
    colour_of,
    drawn,
    hatch_of,
    is_level,
    range_ends,
    stacks,
)
from core.presentation.svg import element, text

WIDTH = 400.0
HEIGHT, TALL, A_ROW = 230.0, 300.0, 46.0
RIGHT, TITLE, TICK_ROW, LEGEND_ROW = 10.0, 18.0, 20.0, 20.0
LONGEST_LABEL = 100.0
SWATCH = 26.0


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where the plot lies in the drawing."""

    left: float
    top: float
    right: float
    bottom: float


def still(figure: Mapping[str, Any], key: str, *, tall: bool = False) -> str:
    """The figure as SVG, empty where it has no traces. key: of the chart, which names its title and summary."""
    traces: Sequence[Trace] = figure["data"]
    if not traces:
        return ""
    layout = figure.get("layout", {})
    xs, ys, y2s = _values(traces, layout)
    frame = _frame(layout, ys, tall)
    plot = _plot(traces, layout, key, (xs, ys, y2s), frame)
    body = [
        *_axes(plot, layout, frame),
        element("clipPath", _box(frame), id=f"{key}-view"),
        element("g", *_content(plot, traces, layout, frame), clip_path=f"url(#{key}-view)"),
        *(_note(note, plot, frame) for note in layout.get("annotations", ())),
    ]
    legend, end = _legend(traces, layout, frame.bottom + _below(layout))
    return _wrapped([*body, legend], key, end)


def _wrapped(parts: Iterable[str], key: str, height: float) -> str:
    return element(
        "svg",
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH:g} {height:.0f}",
        role="img",
        aria_labelledby=f"{key}-title",
        aria_describedby=f"{key}-summary",
        font_family="inherit",
        font_size=LETTERS,
    )


def _values(traces: Sequence[Trace], layout: Mapping[str, Any]) -> tuple[list[Any], list[Any], list[Any]]:
    """Everything that has to fit on each axis."""
    xs: list[Any] = []
    ys: list[Any] = []
    y2s: list[Any] = []
    for trace in traces:
        xs += trace["x"]
        (y2s if trace.get("yaxis") == "y2" else ys).extend(trace["y"])
        xs += [end for ends, _ in range_ends(trace, "error_x") for end in ends]
        ys += [end for ends, _ in range_ends(trace, "error_y") for end in ends]
    bars = [trace for trace in traces if trace["type"] == "bar"]
    for trace, reach in zip(bars, stacks(bars, layout.get("barmode") == "stack"), strict=True):
        (xs if is_level(trace) else ys).extend(end for ends in reach for end in ends)
        _add_sides(xs, trace)
    return xs, ys, y2s


def _add_sides(xs: list[Any], bar: Trace) -> None:
    """Room for half a bar at either end of an axis of numbers."""
    numbers = [x for x in bar["x"] if not isinstance(x, str)]
    if numbers and not is_level(bar):
        xs += [min(numbers) - 0.5, max(numbers) + 0.5]


def _frame(layout: Mapping[str, Any], ys: Sequence[Any], tall: bool) -> _Frame:
    axis = layout.get("yaxis", {})
    by_name = kind_of(axis, ys) == "category"
    height = A_ROW * len(dict.fromkeys(ys)) if by_name else TALL if tall else HEIGHT
    top = 8.0 + (TITLE if _title(axis) else 0.0)
    return _Frame(4.0 if by_name else _left(axis, ys), top, WIDTH - RIGHT, top + height)


def _left(axis: Mapping[str, Any], ys: Sequence[Any]) -> float:
    """As wide as the labels of the heights."""
    if axis.get("visible") is False:
        return RIGHT
    labels = [tick.label for tick in ticks_of(scale_of(axis, ys, 1.0, 0.0), axis)]
    return 12.0 + max((text_width(label, LETTERS) for label in labels), default=0.0)


def _plot(
    traces: Sequence[Trace],
    layout: Mapping[str, Any],
    key: str,
    values: tuple[Sequence[Any], Sequence[Any], Sequence[Any]],
    frame: _Frame,
) -> Plot:
    xs, ys, y2s = values
    return Plot(
        x=scale_of(layout.get("xaxis", {}), xs, frame.left, frame.right),
        y=scale_of(layout.get("yaxis", {}), ys, frame.bottom, frame.top),
        key=key,
        is_stacked=layout.get("barmode") == "stack",
        gap=layout.get("bargap", 0.2),
        y2=scale_of(layout.get("yaxis2", {}), y2s, frame.bottom, frame.top) if y2s else None,
        bars=[trace for trace in traces if trace["type"] == "bar"],
    )


def _title(axis: Mapping[str, Any]) -> str:
    return unescape(str(axis.get("title", {}).get("text", "")))


def _below(layout: Mapping[str, Any]) -> float:
    """Room under the plot for the labels of its axis."""
    axis = layout.get("xaxis", {})
    shown = TICK_ROW if axis.get("visible") is not False else 0.0
    return shown + (TITLE if _title(axis) else 0.0) + 6.0


def _box(frame: _Frame) -> str:
    width, height = frame.right - frame.left, frame.bottom - frame.top
    return element("rect", x=frame.left, y=frame.top, width=width, height=height)


def _content(plot: Plot, traces: Sequence[Trace], layout: Mapping[str, Any], frame: _Frame) -> list[str]:
    shapes = [_shape(shape, plot, frame) for shape in layout.get("shapes", ())]
    return [*shapes, *(drawn(trace, number, plot) for number, trace in enumerate(traces))]


def _axes(plot: Plot, layout: Mapping[str, Any], frame: _Frame) -> list[str]:
    x_axis, y_axis = layout.get("xaxis", {}), layout.get("yaxis", {})
    parts = [*_heights(plot, y_axis, frame), *_widths(plot, x_axis, frame)]
    if title := _cut(_title(y_axis), WIDTH - 4.0):
        parts.append(text(title, 2.0, 15.0, fill="var(--chart-soft)"))
    if title := _cut(_title(x_axis), frame.right):
        y = frame.bottom + TICK_ROW + 14.0
        parts.append(text(title, frame.right, y, text_anchor="end", fill="var(--chart-soft)"))
    return parts


def _heights(plot: Plot, axis: Mapping[str, Any], frame: _Frame) -> list[str]:
    if axis.get("visible") is False:
        return []
    ticks = ticks_of(plot.y, axis)
    if plot.y.kind == "category":
        return _names(plot.y, ticks, axis, frame)
    lines = "".join(f"M{frame.left:.1f} {plot.y.place(t.at):.1f}H{frame.right:.1f}" for t in ticks)
    labels = [
        text(
            tick.label,
            frame.left - 6.0,
            plot.y.place(tick.at) + 4.0,
            text_anchor="end",
            fill="var(--chart-ink)",
        )
        for tick in ticks
    ]
    return [element("path", d=lines, stroke="var(--chart-grid)", stroke_width=1), *labels]


def _names(scale: Scale, ticks: Sequence[Tick], axis: Mapping[str, Any], frame: _Frame) -> list[str]:
    """Names of rows stand above them: beside them there is no room on a phone."""
    if axis.get("showticklabels") is False:
        return []
    return [
        text(
            _cut(tick.label, WIDTH - 8.0),
            frame.left,
            scale.place(tick.at) - A_ROW * 0.33,
            fill="var(--chart-ink)",
        )
        for tick in ticks
    ]


def _widths(plot: Plot, axis: Mapping[str, Any], frame: _Frame) -> list[str]:
    if axis.get("visible") is False:
        return []
    line = f"M{frame.left:.1f} {frame.bottom:.1f}H{frame.right:.1f}"
    parts, taken = [], -1.0
    for tick in ticks_of(plot.x, axis):
        at, label = plot.x.place(tick.at), _cut(tick.label)
        half = text_width(label, LETTERS) / 2
        middle = min(max(at, half), WIDTH - half)
        line += f"M{at:.1f} {frame.bottom:.1f}v4"
        if middle - half > taken:  # a label that would lie on the one before is left out
            taken = middle + half + 6.0
            y = frame.bottom + TICK_ROW - 3.0
            parts.append(text(label, middle, y, text_anchor="middle", fill="var(--chart-ink)"))
    return [element("path", d=line, stroke="var(--chart-soft)", stroke_width=1, fill="none"), *parts]


def _cut(label: str, most: float = LONGEST_LABEL) -> str:
    """The label, or as much of it as has room before an ellipsis."""
    return next(iter(wrap(label, most, LETTERS, lines=1)), "")


def _shape(shape: Mapping[str, Any], plot: Plot, frame: _Frame) -> str:
    """An upright or level line across the plot."""
    look = shape.get("line", {})
    upright = shape["xref"] == "x"
    at = plot.x.at(shape["x0"]) if upright else plot.y.at(shape["y0"])
    if at is None:
        return ""
    d = (
        f"M{at:.1f} {frame.top:.1f}V{frame.bottom:.1f}"
        if upright
        else f"M{frame.left:.1f} {at:.1f}H{frame.right:.1f}"
    )
    return element(
        "path",
        d=d,
        stroke=look.get("color", "var(--chart-soft)"),
        stroke_width=float(look.get("width", 2)) * 0.75,
        stroke_dasharray=DASHES.get(look.get("dash", "")),
    )


def _note(note: Mapping[str, Any], plot: Plot, frame: _Frame) -> str:
    """Words at a place; on a log axis the figure names it as a power of ten already."""
    x, y = (
        _along(note, "x", plot.x, frame.left, frame.right),
        _along(note, "y", plot.y, frame.bottom, frame.top),
    )
    said = _cut(unescape(note["text"]), WIDTH)
    share = {"left": 0.0, "right": 1.0}.get(note.get("xanchor", ""), 0.5)
    width = text_width(said, LETTERS)
    start = max(0.0, min(x + note.get("xshift", 0) - share * width, WIDTH - width))
    down = {"top": 12.0, "bottom": -3.0}.get(note.get("yanchor", ""), 4.0)
    colour = note.get("font", {}).get("color", "var(--chart-ink)")
    anchor = {0.0: "start", 1.0: "end"}.get(share, "middle")
    return text(said, start + share * width, y + down, text_anchor=anchor, fill=colour)


def _along(note: Mapping[str, Any], axis: str, scale: Scale, start: float, end: float) -> float:
    if note.get(f"{axis}ref") == "paper":
        return start + float(note[axis]) * (end - start)
    return scale.place(float(note[axis]))


def _legend(traces: Sequence[Trace], layout: Mapping[str, Any], top: float) -> tuple[str, float]:
    """Swatches with names in rows, and where they end."""
    named = [(n, t) for n, t in enumerate(traces) if t.get("name") and t.get("showlegend", True)]
    if layout.get("showlegend") is False or (len(named) < 2 and not layout.get("showlegend")):
        return "", top
    parts, x, y = [], 4.0, top + 12.0
    for number, trace in named:
        name = _cut(unescape(trace["name"]), WIDTH - SWATCH - 12.0)
        width = SWATCH + text_width(name, LETTERS) + 14.0
        if x > 4.0 and x + width > WIDTH:
            x, y = 4.0, y + LEGEND_ROW
        parts += [_swatch(trace, number, x, y - 4.0), text(name, x + SWATCH, y, fill="var(--chart-ink)")]
        x += width
    return "".join(parts), y + 10.0


def _swatch(trace: Trace, number: int, x: float, y: float) -> str:
    colour = colour_of(trace, number)
    mode = trace.get("mode", "lines+markers")
    if trace["type"] == "bar" or trace.get("fill") == "toself":
        return _patch(trace, number, x, y)
    parts = []
    if "lines" in mode:
        look = trace.get("line", {})
        parts.append(
            element("path", d=f"M{x:.1f} {y:.1f}h20", stroke=look.get("color", colour), stroke_width=2.2,
                    stroke_dasharray=DASHES.get(look.get("dash", "")))
        )  # fmt: skip
    if "markers" in mode:
        said = trace.get("marker", {}).get("symbol", "circle")
        name = said if isinstance(said, str) else next(iter(said), "circle")
        parts.append(symbol(name, x + 10.0, y, 8.0, colour))
    return "".join(parts)


def _patch(trace: Trace, number: int, x: float, y: float) -> str:
    """As the area looks: the hatch of a bar is drawn once more over its colour."""
    colour = colour_of(trace, number) if trace["type"] == "bar" else trace["fillcolor"]
    patch = element("rect", x=x, y=y - 6.0, width=20.0, height=12.0, fill=colour)
    path = hatch_of(trace)
    if not path:
        return patch
    lines = "".join(
        element("path", d=path, transform=f"translate({x + dx:.1f} {y + dy:.1f})", stroke="var(--chart-paper)",
                stroke_width=1.4, fill="none")
        for dx in (1, 7, 13) for dy in (-6, 0)
    )  # fmt: skip
    return patch + lines
