"""Colours, marks and the legend of the picture of a decline. What differs in colour differs in form as well."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from core.calc.bounds import Bound
from core.presentation.svg import Point, element

MarkAt = Callable[[float], str]  # a mark at a place along its row
LIMIT_DASHES, FORECAST_DASHES = "8 4", "2 4"
CLEANING_DASHES = "7 3 2 3"
_LIGHT = {  # those of the pages by day
    "ink": "#141d1c",
    "soft": "#44514d",
    "grid": "#d5dad4",
    "line": "#0b566c",
    "limit": "#94152a",
    "cleaning": "#7f3500",
    "test": "#141d1c",
    "paper": "#fafbf9",
}
_FAN, _FAN_OPACITY, _FAN_WIDE_OPACITY = "#2b86a0", 0.26, 0.14


@dataclass(frozen=True, slots=True)
class Ink:
    """Colours by what they draw: of the page's own scheme, or plain ones for paper."""

    for_paper: bool

    def __getattr__(self, name: str) -> str:
        if name not in _LIGHT:
            raise AttributeError(name)
        return _LIGHT[name] if self.for_paper else f"var(--chart-{name})"

    @property
    def fan(self) -> str:
        """Of the narrow range."""
        return _FAN if self.for_paper else "var(--chart-fan)"

    @property
    def fan_wide(self) -> str:
        """Of the wide range."""
        return _FAN if self.for_paper else "var(--chart-fan-wide)"

    @property
    def fan_opacity(self) -> float | None:
        """None where the colour itself lets light through."""
        return _FAN_OPACITY if self.for_paper else None

    @property
    def fan_wide_opacity(self) -> float | None:
        """None where the colour itself lets light through."""
        return _FAN_WIDE_OPACITY if self.for_paper else None


def halo(ink: Ink) -> Mapping[str, str]:
    """Keeps words readable where lines run behind them."""
    return {
        "stroke": "#ffffff" if ink.for_paper else ink.paper,
        "stroke_width": "3",
        "paint_order": "stroke",
        "stroke_linejoin": "round",
    }


def test_marks(at: Iterable[Point], bound: Bound, ink: Ink) -> str:
    """Single tests: a diamond for a value, a triangle that points to where the value lies for a bound."""
    d = "".join(_BOUND_PATHS[bound](x, y) for x, y in at)
    return element("path", d=d, fill="none", stroke=ink.test, stroke_width=1.2) if d else ""


def _diamond(x: float, y: float, r: float = 4.0) -> str:
    return f"M{x:.1f} {y - r:.1f}l{r:g} {r:g}l{-r:g} {r:g}l{-r:g} {-r:g}z"


def _up(x: float, y: float) -> str:
    return f"M{x:.1f} {y - 4.5:.1f}l4.5 8h-9z"


def _down(x: float, y: float) -> str:
    return f"M{x:.1f} {y + 4.5:.1f}l4.5 -8h-9z"


_BOUND_PATHS = {Bound.EXACT: _diamond, Bound.ABOVE: _up, Bound.BELOW: _down}


def other_marks(at: Iterable[Point], ink: Ink) -> str:
    """Tests by another method than the ring: open squares."""
    d = "".join(f"M{x - 3.5:.1f} {y - 3.5:.1f}h7v7h-7z" for x, y in at)
    return element("path", d=d, fill="none", stroke=ink.soft, stroke_width=1.2) if d else ""


def round_marks(at: Iterable[Point], ink: Ink) -> str:
    """The means of rounds: filled diamonds."""
    d = "".join(_diamond(x, y, 5.5) for x, y in at)
    return element("path", d=d, fill=ink.test) if d else ""


def cleaning_mark(x: float, y: float, ink: Ink) -> str:
    """A cleaning: a filled square with a star cut into it."""
    square = element("path", d=f"M{x - 5.5:.1f} {y - 5.5:.1f}h11v11h-11z", fill=ink.cleaning)
    d = f"M{x - 3.5:.1f} {y:.1f}h7M{x:.1f} {y - 3.5:.1f}v7M{x - 2.5:.1f} {y - 2.5:.1f}l5 5m0 -5l-5 5"
    white = "#ffffff" if ink.for_paper else ink.paper
    return square + element("path", d=d, stroke=white, stroke_width=1.1, fill="none")


def swatch(x: float, y: float, fill: str, opacity: float | None, ink: Ink) -> str:
    """A piece of a range."""
    shade = None if opacity is None else f"{opacity:g}"
    return element(
        "rect",
        x=x - 10,
        y=y - 5,
        width=20,
        height=10,
        fill=fill,
        fill_opacity=shade,
        stroke=ink.grid,
        stroke_width=0.7,
    )


def stroke(x: float, y: float, colour: str, width: float, dashes: str | None) -> str:
    """A piece of a line."""
    d = f"M{x - 11:.1f} {y:.1f}h22"
    return element("path", d=d, fill="none", stroke=colour, stroke_width=width, stroke_dasharray=dashes)
