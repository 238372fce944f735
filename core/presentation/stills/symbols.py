"""Marks of a still chart, by the names that figures use for them."""

from core.presentation.svg import element, outline

POLYGONS = {
    "diamond": ((0.0, -1.2), (1.2, 0.0), (0.0, 1.2), (-1.2, 0.0)),
    "square": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    "star-square": (
        (0, -1.1), (0.45, -0.45), (1.1, 0), (0.45, 0.45), (0, 1.1), (-0.45, 0.45), (-1.1, 0), (-0.45, -0.45)
    ),
    "triangle-up": ((0.0, -1.1), (1.05, 0.8), (-1.05, 0.8)),
    "triangle-down": ((0.0, 1.1), (1.05, -0.8), (-1.05, -0.8)),
    "triangle-left": ((-1.1, 0.0), (0.8, -1.05), (0.8, 1.05)),
    "triangle-right": ((1.1, 0.0), (-0.8, -1.05), (-0.8, 1.05)),
}  # fmt: skip
STROKES = {"x": "M-1 -1L1 1M-1 1L1 -1", "line-ns": "M0 -1L0 1", "line-ew": "M-1 0L1 0"}
OPEN = "-open"


def symbol(
    name: str, x: float, y: float, size: float, colour: str, stroke_width: float = 1.6, *, fill: str = ""
) -> str:
    """A mark about a place; size: its width. A name that is not known is drawn as a disc.

    fill: where it differs from the colour of the outline.
    """
    shape, radius = name.removesuffix(OPEN), size / 2
    if shape in STROKES:
        return _stroke(STROKES[shape], x, y, radius, colour, stroke_width)
    look = {
        "fill": "none" if name.endswith(OPEN) else fill or colour,
        "stroke": colour,
        "stroke_width": stroke_width,
    }
    if shape in POLYGONS:
        corners = [(x + dx * radius, y + dy * radius) for dx, dy in POLYGONS[shape]]
        return element("path", d=outline(corners), stroke_linejoin="round", **look)
    return element("circle", cx=x, cy=y, r=radius, **look)


def _stroke(path: str, x: float, y: float, radius: float, colour: str, stroke_width: float) -> str:
    place = f"translate({x:.1f} {y:.1f}) scale({radius:.2f})"
    width = f"{stroke_width / radius:.2f}"
    return element("path", d=path, transform=place, stroke=colour, stroke_width=width, fill="none")
