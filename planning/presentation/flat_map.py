"""What maps of places share: degrees laid out flat, a scale bar, an arrow to the north.

Distances are right near the middle and off by a fraction of a percent over a day's reach: degrees are laid out flat
(equirectangular projection about the middle of the places).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, floor, log10, radians

from core.calc.marks import marked
from core.calc.translation import pgettext
from core.calc.units import MM_PER_FT, MM_PER_M, UnitSystem
from core.presentation.svg import Point, element, text
from planning.calc.routing.travel import EARTH_KM
from planning.calc.stop_order import Position
from qa.presentation.drawing.palette import Paint

WIDTH = 360.0
KM_PER_MI = 5280 * MM_PER_FT / MM_PER_M / 1000.0
LEAST_KM = 0.2  # of ground that is shown, however near the places lie
BAR_SHARE = 0.35


def flat_km(places: Sequence[Position]) -> list[Point]:
    """Kilometres east and north of the first place, laid out flat about the middle latitude."""
    lat0, lon0 = places[0]
    lats = [lat for lat, _ in places]
    east = cos(radians((min(lats) + max(lats)) / 2))
    return [
        (EARTH_KM * radians((lon - lon0 + 180.0) % 360.0 - 180.0) * east, EARTH_KM * radians(lat - lat0))
        for lat, lon in places
    ]


@dataclass(frozen=True, slots=True)
class View:
    """Kilometres to drawing units. side, top: where the ground begins in the drawing."""

    scale: float
    left: float
    north: float
    height: float
    side: float
    top: float

    def at(self, point: Point) -> Point:
        """Where a place lies in the drawing."""
        return self.side + (point[0] - self.left) * self.scale, self.top + (
            self.north - point[1]
        ) * self.scale


def view_of(km: Sequence[Point], width: float, highest: float, *, side: float, top: float) -> View:
    """All places within the width, less a margin on either side, and no higher than `highest`."""
    xs, ys = zip(*km, strict=True)
    across, up = max(max(xs) - min(xs), LEAST_KM), max(max(ys) - min(ys), LEAST_KM)
    scale = min((width - 2 * side) / across, highest / up)
    spare_x = ((width - 2 * side) / scale - (max(xs) - min(xs))) / 2
    spare_y = (up - (max(ys) - min(ys))) / 2
    return View(scale, min(xs) - spare_x, max(ys) + spare_y, up * scale, side, top)


def north(paint: Paint, width: float = WIDTH) -> str:
    """An arrow to the north in the upper right corner."""
    x = width - 16.0
    arrow = element("path", d=f"M{x:.1f} 5l6 15l-6 -4l-6 4z", fill=paint("ink"))
    return arrow + text(
        pgettext("north on a map", "N"), x, 33.0, font_size=13, fill=paint("ink"), text_anchor="middle"
    )


def scale_bar(view: View, y: float, units: str, paint: Paint, width: float = WIDTH) -> str:
    """A round length of ground, drawn to scale."""
    per_unit_km, unit = (1.0, "km") if units == UnitSystem.SI else (KM_PER_MI, "mi")
    count = _round(BAR_SHARE * width / view.scale / per_unit_km)
    end = view.side + count * per_unit_km * view.scale
    line = f"M{view.side:.1f} {y - 5:.1f}v10M{view.side:.1f} {y:.1f}H{end:.1f}M{end:.1f} {y - 5:.1f}v10"
    bar = element("path", d=line, fill="none", stroke=paint("ink"), stroke_width=2)
    return bar + text(f"{marked(f'{count:g}')} {unit}", end + 8, y + 5, font_size=13, fill=paint("ink"))


def _round(most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not over `most`."""
    power = 10.0 ** floor(log10(most))
    return max(step * power for step in (1, 2, 5) if step * power <= most)
