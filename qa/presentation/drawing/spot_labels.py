"""Where the words of the spots stand on a plan, so that none covers another, a ring or the number of a corner."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from core.presentation.lettering import text_width, wrap
from qa.presentation.drawing.places import Box, Room

LABEL_SIZE, NOTE_SIZE = 15.0, 12.0
_ONE_LINE, _TWO_LINES = 18.0, 31.0
_AWAY = 4.0  # between a ring and its words
_LONGEST = 300.0  # of a line; what is longer ends in an ellipsis


@dataclass(frozen=True, slots=True)
class Words:
    """The words of a spot and the room they take, in units of the drawing.

    ring: centre of the spot's ring.
    """

    label: str
    note: str
    ring: tuple[float, float]
    box: Box

    @property
    def leader(self) -> tuple[float, float]:
        """The point of the words that lies nearest to their ring."""
        return self.box.nearest(*self.ring)

    @property
    def anchor(self) -> str:
        """The side of the lines that lies at the ring: where letters are narrow, what is left over is elsewhere."""
        share = (self.ring[0] - self.box.left) / self.box.width
        return "start" if share < 1 / 3 else "end" if share > 2 / 3 else "middle"

    @property
    def x(self) -> float:
        """Where the lines begin, have their middle, or end."""
        return self.box.left + {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.box.width


def place_words(
    spots: Sequence[tuple[str, str, tuple[float, float]]], radius: float, room: Room
) -> list[Words]:
    """The words of spots (label, note, centre of the ring) in the order given, each where there is room for it.

    radius: of the rings, which must stand in the room already. Spots that lie higher choose first.
    """
    placed: dict[int, Words] = {}
    for i in sorted(range(len(spots)), key=lambda i: (spots[i][2][1], spots[i][2][0], i)):
        label, note, ring = spots[i]
        label, note = _one_line(label, LABEL_SIZE, bold=True), _one_line(note, NOTE_SIZE)
        wishes = _wishes(_width(label, note), _TWO_LINES if note else _ONE_LINE, ring, radius, room)
        box = room.take(wishes, led_from=ring)
        placed[i] = Words(label, note, ring, box)
    return [placed[i] for i in range(len(spots))]


def _one_line(content: str, size: float, bold: bool = False) -> str:
    return next(iter(wrap(content, _LONGEST, size, lines=1, bold=bold)), "")


def _width(label: str, note: str) -> float:
    return max(text_width(label, LABEL_SIZE, bold=True), text_width(note, NOTE_SIZE))


def _wishes(
    width: float, height: float, ring: tuple[float, float], radius: float, room: Room
) -> Iterator[Box]:
    """Beside the ring, on the side with more room first, then above and below it."""
    x, y = ring
    away = radius + _AWAY
    right = Box(x + away, y - height / 2, width, height)
    left = Box(x - away - width, y - height / 2, width, height)
    yield from (left, right) if x > room.width * 0.62 else (right, left)
    yield Box(x - width / 2, y - away - height, width, height)
    yield Box(x - width / 2, y + away, width, height)
