"""The frame of a true-to-scale drawing, and stone drawn in it."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import atan2, hypot, pi

from core.presentation.svg import Point, element, in_tenths, outline_in_tenths
from qa.presentation.drawing.palette import Paint
from qa.presentation.drawing.stones import Fill, Stone, pack_stones

SMALLEST_SHOWN_PX = 2.6
MOST_STONES_IN_A_LAYER = 800
_FACET_FROM_PX = 4.5


@dataclass(frozen=True, slots=True)
class Frame:
    """Where millimetres of the ground lie on the drawing; one scale in both directions.

    scale: drawing units per mm. left, top, width: of the drawn ground, in drawing units. most_stones: in a layer; of
    more the drawing shows fewer and larger ones.
    """

    scale: float
    left: float
    top: float
    width: float
    paint: Paint
    seed: int
    most_stones: int = MOST_STONES_IN_A_LAYER

    @property
    def width_mm(self) -> float:
        """Width of ground that is shown."""
        return self.width / self.scale

    @property
    def right(self) -> float:
        """Right end of the drawn ground."""
        return self.left + self.width

    def x(self, along_mm: float) -> float:
        """Drawing position of a distance from the left end."""
        return self.left + along_mm * self.scale

    def y(self, depth_mm: float) -> float:
        """Drawing position of a depth below the surface."""
        return self.top + depth_mm * self.scale

    def rect(self, x0: float, x1: float, top: float, bottom: float, **attributes: object) -> str:
        """A rectangle from millimetres along and depths in millimetres."""
        return element(
            "rect",
            x=self.x(x0),
            y=self.y(top),
            width=(x1 - x0) * self.scale,
            height=(bottom - top) * self.scale,
            **attributes,
        )


@dataclass(frozen=True, slots=True)
class StoneLook:
    """Colour names of three tones, of the edge, and of the lit face (None: no faces)."""

    tones: tuple[str, str, str]
    edge: str
    lit: str | None
    roundness: float = 0.0


COARSE = StoneLook(("stone-a", "stone-b", "stone-c"), "stone-edge", "stone-lit")
FINE = StoneLook(("fine-a", "fine-b", "fine-c"), "stone-edge", None)


@dataclass(frozen=True, slots=True)
class Box:
    """A box of stone: millimetres along, depths in millimetres, sizes of stone, share of voids."""

    x0: float
    x1: float
    top: float
    bottom: float
    stone_min_mm: float
    stone_max_mm: float
    porosity: float


def draw_stones(frame: Frame, box: Box, look: StoneLook, salt: int) -> str:
    """Stones at true size in a box. Those too small to see are drawn at the smallest visible size."""
    smallest = max(box.stone_min_mm, SMALLEST_SHOWN_PX / frame.scale)
    largest = max(box.stone_max_mm, smallest * 1.15)
    area = (box.x1 - box.x0) * (box.bottom - box.top)
    while area / (smallest * largest) > frame.most_stones and smallest < largest / 1.15:
        smallest *= 1.1
    while area / (smallest * largest) > frame.most_stones:
        smallest, largest = smallest * 1.1, largest * 1.1
    fill = Fill(box.x1 - box.x0, box.bottom - box.top, smallest, largest, box.porosity, look.roundness)
    placed = [
        (stone, [(frame.x(box.x0 + x), frame.y(box.bottom - y)) for x, y in stone.corners])
        for stone in pack_stones(fill, frame.seed * 1009 + salt)
    ]
    return _tones(frame, placed, look) + _faces(frame, placed, look)


def _tones(frame: Frame, placed: list[tuple[Stone, list[Point]]], look: StoneLook) -> str:
    paths = [
        element(
            "path",
            d="".join(outline_in_tenths(p) for s, p in placed if s.tone == tone),
            fill=frame.paint(name),
        )
        for tone, name in enumerate(look.tones)
        if any(s.tone == tone for s, _ in placed)
    ]
    return in_tenths(*paths, stroke=frame.paint(look.edge), stroke_width="5", stroke_linejoin="round")


def _faces(frame: Frame, placed: list[tuple[Stone, list[Point]]], look: StoneLook) -> str:
    """The face of each larger stone that the light from the upper left would catch."""
    if look.lit is None:
        return ""
    large = [p for s, p in placed if s.radius_mm * frame.scale >= _FACET_FROM_PX]
    d = "".join(outline_in_tenths(face) for face in map(_lit_face, large) if len(face) > 2)
    return in_tenths(element("path", d=d, fill=frame.paint(look.lit), opacity="0.55")) if d else ""


def _lit_face(corners: list[Point]) -> list[Point]:
    cx, cy = _middle(corners)
    lit = []
    for x, y in corners:
        angle = atan2(y - cy, x - cx) + 0.75 * pi  # 0 towards the upper left
        turned = (angle + pi) % (2 * pi) - pi
        if abs(turned) < 0.42 * pi:
            lit.append((turned, x, y))
    rim = [(cx + (x - cx) * 0.9, cy + (y - cy) * 0.9) for _, x, y in sorted(lit)]
    reach = max((hypot(x - cx, y - cy) for x, y in corners), default=0.0)
    return [*rim, (cx - 0.12 * reach, cy - 0.18 * reach)]


def _middle(points: Iterable[Point]) -> Point:
    listed = list(points)
    return sum(x for x, _ in listed) / len(listed), sum(y for _, y in listed) / len(listed)
