"""Where the words of the spots stand on a plan, so that none covers another."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from qa.presentation.drawing.lettering import spread, text_width

LABEL_SIZE, NOTE_SIZE = 15.0, 12.0
_ONE_LINE, _TWO_LINES = 18.0, 31.0
_AWAY = 4.0  # between a ring and its words


@dataclass(frozen=True, slots=True)
class Words:
    """The words of a spot. x: where they begin, or end where ends; y: the middle of them; all in units of the drawing.

    ring: centre of the spot's ring.
    """

    label: str
    note: str
    ring: tuple[float, float]
    x: float
    y: float
    ends: bool

    @property
    def height(self) -> float:
        """Of the one line or two."""
        return _TWO_LINES if self.note else _ONE_LINE

    @property
    def span(self) -> tuple[float, float]:
        """From where to where they reach across."""
        width = max(text_width(self.label, LABEL_SIZE, bold=True), text_width(self.note, NOTE_SIZE))
        return (self.x - width, self.x) if self.ends else (self.x, self.x + width)

    @property
    def is_moved(self) -> bool:
        """Whether they stand so far from their ring that a line must lead to it."""
        return abs(self.y - self.ring[1]) > self.height / 2


def beside(label: str, note: str, ring: tuple[float, float], radius: float, width: float) -> Words:
    """The words beside their ring, on the side with more room. width: of the drawing."""
    ends = ring[0] > width * 0.62
    x = ring[0] - radius - _AWAY if ends else ring[0] + radius + _AWAY
    return Words(label, note, ring, x, ring[1], ends)


def apart(words: Sequence[Words]) -> list[Words]:
    """The same words in the same order, moved up or down as little as keeps them apart."""
    placed = dict(enumerate(words))
    for group in _sharing_a_column(words):
        rising = sorted(group, key=lambda i: words[i].y)
        heights = [words[i].height for i in rising]
        for i, y in zip(rising, spread([words[i].y for i in rising], heights, top=0.0), strict=True):
            placed[i] = replace(words[i], y=y)
    return [placed[i] for i in range(len(words))]


def _sharing_a_column(words: Sequence[Words]) -> Iterator[list[int]]:
    """Groups of places in the list whose words reach over one another across, directly or through others."""
    group: list[int] = []
    reach = float("-inf")
    for i in sorted(range(len(words)), key=lambda i: words[i].span):
        left, right = words[i].span
        if group and left >= reach:
            yield group
            group, reach = [], float("-inf")
        group.append(i)
        reach = max(reach, right)
    if group:
        yield group
