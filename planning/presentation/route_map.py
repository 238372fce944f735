"""The route of a crew's day seen from above: straight lines between depot and stops, north up, to scale, no map under
it.

Distances are right near the middle and off by a fraction of a percent over a day's reach: degrees are laid out flat
(equirectangular projection about the middle of the places).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot
from typing import NamedTuple

from django.utils.translation import gettext as _

from core.calc.format import figure
from core.calc.units import UnitSystem
from core.presentation.svg import Point, element, text, text_node
from planning.calc.stop_order import Position
from planning.presentation.flat_map import KM_PER_MI, WIDTH, flat_km, north, scale_bar, view_of
from qa.presentation.drawing.palette import Paint

HIGHEST = 300.0
_SIDE, _TOP, _BELOW = 34.0, 44.0, 42.0
_RADIUS, _APART = 11.0, 20.0


@dataclass(frozen=True, slots=True)
class RouteMap:
    """The drawing, empty where fewer than two places are known; the same in words; places that are not on it."""

    svg: str
    words: str
    missing: tuple[str, ...] = ()


class _Marked(NamedTuple):
    """A number or several at one place of the drawing."""

    label: str
    at: Point


def route_map(
    depot: Position | None,
    stops: Sequence[tuple[str, Position | None]],
    units: str,
    *,
    key: str,
    for_paper: bool = False,
) -> RouteMap:
    """The map of a route. stops: name and position in the order they are reached, numbered from 1.

    Positions are latitude and longitude in degrees. key: keeps ids apart where one page shows several.
    """
    known = [(str(i), name, place) for i, (name, place) in enumerate(stops, 1) if place is not None]
    missing = [name for name, place in stops if place is None]
    if depot is None:
        missing.insert(0, _("the depot"))
    way = [place for _number, _name, place in known]
    if depot is not None:
        way = [depot, *way, depot]
    if len(set(way)) < 2:
        return RouteMap("", "", tuple(missing))
    km = flat_km(way)
    words = _in_words(known, depot is not None, _length(km), units)
    svg = _draw(
        km,
        [number for number, _name, _place in known],
        depot is not None,
        words,
        units,
        key,
        Paint(not for_paper),
    )
    return RouteMap(svg, words, tuple(missing))


def _length(km: Sequence[Point]) -> float:
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(km))


def _in_words(known: Sequence[tuple[str, str, Position]], from_depot: bool, km: float, units: str) -> str:
    places = ", ".join(f"{number} {name}" for number, name, _place in known)
    way = _("From the depot to {places}, and back.") if from_depot else _("By {places}.")
    far = _("{distance} in straight lines; roads are longer.").format(distance=_far(km, units))
    return f"{way.format(places=places)} {far}"


def _far(km: float, units: str) -> str:
    return f"{figure(km)} km" if units == UnitSystem.SI else f"{figure(km / KM_PER_MI)} mi"


def _draw(
    km: Sequence[Point],
    numbers: Sequence[str],
    from_depot: bool,
    words: str,
    units: str,
    key: str,
    paint: Paint,
) -> str:
    view = view_of(km, WIDTH, HIGHEST, side=_SIDE, top=_TOP)
    points = [view.at(point) for point in km]
    marks = _merged(numbers, points[1:-1] if from_depot else points)
    height = _TOP + view.height + _BELOW
    parts = [
        *(_leg(a, b, paint) for a, b in pairwise(points)),
        _depot(points[0], paint) if from_depot else "",
        *(_stop(mark, paint) for mark in marks),
        north(paint),
        scale_bar(view, height - 16.0, units, paint),
    ]
    title, about = f"route-{key}-title", f"route-{key}-about"
    return element(
        "svg",
        element("title", text_node(_("Map of the route")), id=title),
        element("desc", text_node(words), id=about),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH:g} {height:.0f}",
        role="img",
        aria_labelledby=f"{title} {about}",
        font_family="inherit",
    )


def _merged(numbers: Sequence[str], points: Sequence[Point]) -> list[_Marked]:
    """Stops that would lie on one another share a mark."""
    marks: list[_Marked] = []
    for number, (x, y) in zip(numbers, points, strict=True):
        near = next((i for i, m in enumerate(marks) if hypot(m.at[0] - x, m.at[1] - y) < _APART), None)
        if near is None:
            marks.append(_Marked(number, (x, y)))
        else:
            marks[near] = _Marked(f"{marks[near].label}, {number}", marks[near].at)
    return marks


def _leg(a: Point, b: Point, paint: Paint) -> str:
    """A line with an arrow in its middle, where it is long enough for one."""
    line = element("line", x1=a[0], y1=a[1], x2=b[0], y2=b[1], stroke=paint("water-line"), stroke_width=2)
    run, fall = b[0] - a[0], b[1] - a[1]
    far = hypot(run, fall)
    if far < 3 * _RADIUS:
        return line
    ux, uy = run / far, fall / far
    x, y = a[0] + 0.55 * run, a[1] + 0.55 * fall
    tip = f"M{x + 6 * ux:.1f} {y + 6 * uy:.1f}"
    back = f"L{x - 4 * ux - 4 * uy:.1f} {y - 4 * uy + 4 * ux:.1f}L{x - 4 * ux + 4 * uy:.1f} {y - 4 * uy - 4 * ux:.1f}z"
    return line + element("path", d=tip + back, fill=paint("water-line"))


def _depot(at: Point, paint: Paint) -> str:
    x, y = at
    box = element(
        "rect", x=x - 7, y=y - 7, width=14.0, height=14.0, fill=paint("ink"), stroke=paint("pipe"),
        stroke_width=1.5,
    )  # fmt: skip
    anchor, shift = ("end", -12.0) if x > WIDTH / 2 else ("start", 12.0)
    label = text(
        _("Depot"),
        x + shift,
        y - 10,
        font_size=13,
        fill=paint("ink"),
        text_anchor=anchor,
        **_HALO,
        stroke=paint("pipe"),
    )
    return box + label


_HALO = {"stroke_width": 3, "paint_order": "stroke", "stroke_linejoin": "round"}


def _stop(mark: _Marked, paint: Paint) -> str:
    x, y = mark.at
    width = 2 * _RADIUS + 6.5 * max(0, len(mark.label) - 2)
    disc = element(
        "rect", x=x - width / 2, y=y - _RADIUS, width=width, height=2 * _RADIUS, rx=_RADIUS, fill=paint("pipe"),
        stroke=paint("ink"), stroke_width=2,
    )  # fmt: skip
    label = text(
        mark.label, x, y + 4.5, font_size=13, font_weight="bold", fill=paint("ink"), text_anchor="middle"
    )
    return disc + label
