"""A map of sites without ground under it: north up, to scale, each site a mark by how its worst surface stands.

Marks are told apart by shape besides colour, are links, and have names as far as there is room for them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple
from uuid import UUID

from django.utils.translation import gettext as _

from core.calc.format import counted
from core.presentation.lettering import text_width
from core.presentation.stills.symbols import symbol
from core.presentation.svg import Point, element, text, text_node
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from planning.presentation.flat_map import View, flat_km, north, scale_bar, view_of
from qa.presentation.drawing.palette import Paint
from reporting.calc.portfolio_snapshot import MapSite

WIDTH, HIGHEST = 400.0, 360.0
SIDE, TOP, BAR, ROW = 26.0, 44.0, 40.0, 22.0
LETTERS, MARK, TOUCH = 13.0, 15.0, 12.0
MOST_NAMED = 60
LOOKS: Mapping[SurfaceState, tuple[str, str]] = {
    SurfaceState.BELOW_LIMIT: ("square", "below"),
    SurfaceState.CLEAN_SOON: ("triangle-up", "soon"),
    SurfaceState.WATCH: ("diamond", "watch"),
    SurfaceState.DRAINING: ("circle", "well"),
    SurfaceState.NOT_TESTED: ("x", "untested"),
}


class _Box(NamedTuple):
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "_Box") -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


@dataclass(frozen=True, slots=True)
class SiteMap:
    """The drawing, empty where no site has a position, and the same in words."""

    svg: str
    words: str


def site_map(sites: Sequence[MapSite], units: str, addresses: Mapping[UUID, str]) -> SiteMap:
    """The map. addresses: of the page of each site."""
    if not sites:
        return SiteMap("", "")
    km = flat_km([(site.latitude_deg, site.longitude_deg) for site in sites])
    view, paint = view_of(km, WIDTH, HIGHEST, side=SIDE, top=TOP), Paint()
    at = {site.key: view.at(place) for site, place in zip(sites, km, strict=True)}
    worst_first = sorted(sites, key=lambda site: (WORST_FIRST.index(site.state), site.name))
    names = _named(worst_first, at)
    drawn = [_site(site, at[site.key], addresses[site.key], names.get(site.key, "")) for site in worst_first]
    bar_y = TOP + view.height + BAR
    legend, end = _legend({site.state for site in sites}, bar_y + 14.0)
    words = _in_words(sites)
    return SiteMap(
        _wrapped([*_frame(view, bar_y, units, paint), *reversed(drawn), legend], words, end), words
    )


def _frame(view: View, bar_y: float, units: str, paint: Paint) -> list[str]:
    return [north(paint, WIDTH), scale_bar(view, bar_y, units, paint, WIDTH)]


def _wrapped(parts: Iterable[str], words: str, height: float) -> str:
    return element(
        "svg",
        element("title", text_node(_("Map of the sites")), id="site-map-title"),
        element("desc", text_node(words), id="site-map-about"),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH:g} {height:.0f}",
        role="group",
        aria_labelledby="site-map-title site-map-about",
        font_family="inherit",
        font_size=f"{LETTERS:g}",
    )


def _in_words(sites: Sequence[MapSite]) -> str:
    counts = {state: sum(site.state is state for site in sites) for state in WORST_FIRST}
    said = ", ".join(f"{count} {state.label}" for state, count in counts.items() if count)
    return _("{sites}, each by its worst surface: {states}.").format(
        sites=counted(len(sites), "site"), states=said
    )


def _mark(state: SurfaceState, x: float, y: float) -> str:
    shape, token = LOOKS[state]
    return symbol(shape, x, y, MARK, "var(--ink)", 1.6, fill=f"var(--{token}-fill)")


def _site(site: MapSite, at: Point, address: str, label: str) -> str:
    x, y = at
    said = _("{site}: {state}, {surfaces}").format(
        site=site.name, state=site.state.label, surfaces=counted(site.surfaces, "surface")
    )
    return element(
        "a",
        element("title", text_node(said)),
        element("circle", cx=x, cy=y, r=TOUCH, fill="transparent"),
        _mark(site.state, x, y),
        label,
        href=address,
        aria_label=said,
    )


def _named(sites: Iterable[MapSite], at: Mapping[UUID, Point]) -> dict[UUID, str]:
    """Labels that cover neither a mark nor one another; the worst sites have theirs first."""
    half = MARK / 2 + 1.0
    taken = [_Box(x - half, y - half, x + half, y + half) for x, y in at.values()]
    named: dict[UUID, str] = {}
    for site in sites:
        if len(named) == MOST_NAMED:
            break
        box = next((box for box in _places(site.name, at[site.key]) if _is_free(box, taken)), None)
        if box:
            taken.append(box)
            named[site.key] = text(site.name, box.left, box.bottom - 3.0, fill="var(--ink)")
    return named


def _places(name: str, at: Point) -> Iterable[_Box]:
    """Where a name may stand: right, left, below, above."""
    (x, y), width = at, text_width(name, LETTERS)
    for left, top in (
        (x + 11.0, y - 8.0),
        (x - 11.0 - width, y - 8.0),
        (x - width / 2, y + 10.0),
        (x - width / 2, y - 26.0),
    ):
        yield _Box(left, top, left + width, top + 15.0)


def _is_free(box: _Box, taken: Iterable[_Box]) -> bool:
    inside = box.left >= 2.0 and box.right <= WIDTH - 2.0 and box.top >= 2.0
    return inside and not any(box.meets(other) for other in taken)


def _legend(states: Iterable[SurfaceState], top: float) -> tuple[str, float]:
    parts, x, y = [], SIDE, top + 16.0
    for state in (state for state in WORST_FIRST if state in states):
        width = 20.0 + text_width(state.label, LETTERS) + 14.0
        if x > SIDE and x + width > WIDTH:
            x, y = SIDE, y + ROW
        parts += [_mark(state, x, y - 4.0), text(state.label, x + 14.0, y, fill="var(--ink)")]
        x += width
    return "".join(parts), y + 12.0
