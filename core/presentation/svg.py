"""Small pieces of SVG as text. Every text and attribute is escaped here and nowhere else."""

from collections.abc import Iterable
from itertools import pairwise
from xml.sax.saxutils import escape, quoteattr

Point = tuple[float, float]


def element(tag: str, *children: str, **attributes: object) -> str:
    """One element; `stroke_width=1` becomes stroke-width="1". Children are markup already."""
    written = "".join(
        f" {name.rstrip('_').replace('_', '-')}={quoteattr(_number(value))}"
        for name, value in attributes.items()
        if value is not None
    )
    inside = "".join(children)
    return f"<{tag}{written}>{inside}</{tag}>" if inside else f"<{tag}{written}/>"


def text(content: str, x: float, y: float, **attributes: object) -> str:
    """A line of text, escaped."""
    return element("text", text_node(content), x=x, y=y, **attributes)


def text_node(content: str) -> str:
    """Text that may stand between tags."""
    return escape(clean(content))


def outline(points: Iterable[Point]) -> str:
    """Path data of a closed polygon, to a tenth of a unit, in steps since those are shorter to send."""
    return f"{open_line(points)}z"


def open_line(points: Iterable[Point]) -> str:
    """The same of a line from point to point, of which there is at least one."""
    tenths = [(round(x * 10), round(y * 10)) for x, y in points]
    start = f"M{_tenths(tenths[0][0])} {_tenths(tenths[0][1])}"
    steps = (f"{_tenths(x1 - x0)} {_tenths(y1 - y0)}" for (x0, y0), (x1, y1) in pairwise(tenths))
    return f"{start}l{' '.join(steps)}".replace(" -", "-")


def outline_in_tenths(points: Iterable[Point]) -> str:
    """The outline of a closed polygon in tenths of a unit, for many within one `in_tenths`: a fifth shorter."""
    tenths = [(round(x * 10), round(y * 10)) for x, y in points]
    steps = (f"{x1 - x0} {y1 - y0}" for (x0, y0), (x1, y1) in pairwise(tenths))
    return f"M{tenths[0][0]} {tenths[0][1]}l{' '.join(steps)}z".replace(" -", "-")


def in_tenths(*children: str, **attributes: object) -> str:
    """A group whose lengths are tenths of a unit."""
    return element("g", *children, transform="scale(.1)", **attributes)


def _tenths(count: int) -> str:
    """A whole number of tenths as a decimal number, without what need not be written."""
    sign, (whole, tenth) = "-" if count < 0 else "", divmod(abs(count), 10)
    return f"{sign}{whole}" if tenth == 0 else f"{sign}{whole or ''}.{tenth}"


def size_of(svg: str) -> tuple[float, float]:
    """Width and height of a drawing, in its own units, as its view box says."""
    _, _, width, height = (float(part) for part in svg.partition('viewBox="')[2].partition('"')[0].split())
    return width, height


def clean(content: str) -> str:
    """The text without the control characters that XML 1.0 forbids."""
    return "".join(c for c in content if c in "\t\n" or (c >= " " and c not in "\ufffe\uffff"))


def _number(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.1f}".removesuffix(".0") if abs(value) >= 0.05 else "0"
    return str(value)
