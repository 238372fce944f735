"""Width of text, breaking it into lines, and spreading labels so that none covers another."""

from collections.abc import Sequence
from dataclasses import dataclass

_NARROW = frozenset("iljtfrI.,:;|'!()[]/ ·-")
_WIDE = frozenset("mwMW@%—")


def text_width(content: str, size: float, bold: bool = False) -> float:
    """Width of a line in a common sans-serif face, estimated on the generous side, same unit as size."""
    ems = sum(map(_WIDTHS.__getitem__, content))
    return ems * size * (1.06 if bold else 1.0)


class _Widths(dict[str, float]):
    """Of each character in ems, looked at once: drawings measure the same few many thousand times."""

    def __missing__(self, c: str) -> float:
        self[c] = width = _char_width(c)
        return width


_WIDTHS = _Widths()


def _char_width(c: str) -> float:
    if c in _NARROW:
        return 0.36
    if c in _WIDE:
        return 0.9
    if c.isupper() or ord(c) > 0x2E7F:  # full-width scripts
        return 0.7 if c.isupper() else 1.0
    return 0.57


def wrap(content: str, width: float, size: float, lines: int, bold: bool = False) -> list[str]:
    """The text in at most `lines` lines of a width; what does not fit ends in an ellipsis.

    A no-break space keeps words together; a raised dot that parts two values is dropped at a line's end.
    """
    rows: list[str] = []
    for word in filter(None, content.split(" ")):
        joined = f"{rows[-1]} {word}" if rows else word
        if rows and text_width(joined, size, bold) <= width:
            rows[-1] = joined
        else:
            rows.extend(_pieces(word, width, size, bold))
    if len(rows) > lines:
        rows = [*rows[: lines - 1], _shortened(" ".join(rows[lines - 1 :]), width, size, bold)]
    return [row.removesuffix(" ·") for row in rows]


def _pieces(word: str, width: float, size: float, bold: bool) -> list[str]:
    """A word too long for a line, cut where it must be."""
    pieces = [""]
    for c in word:
        if pieces[-1] and text_width(pieces[-1] + c, size, bold) > width:
            pieces.append("")
        pieces[-1] += c
    return pieces


def _shortened(content: str, width: float, size: float, bold: bool) -> str:
    while content and text_width(content + "…", size, bold) > width:
        content = content[:-1]
    return content.rstrip() + "…"


@dataclass(slots=True)
class _Block:
    wish: float  # mean of the wished centres, each less its offset in the block
    height: float
    members: list[int]


def spread(centres: Sequence[float], heights: Sequence[float], top: float) -> list[float]:
    """Centres moved as little as possible (least squares) so that no two boxes overlap.

    centres: wished, in rising order. heights: of the boxes. top: no box may begin above it.
    Blocks that touch are merged and placed at the mean of their wishes (pool adjacent violators).
    """
    blocks: list[_Block] = []
    for i, (centre, height) in enumerate(zip(centres, heights, strict=True)):
        blocks.append(_Block(max(centre, top + height / 2) - height / 2, height, [i]))
        while len(blocks) > 1 and blocks[-2].wish + blocks[-2].height > blocks[-1].wish:
            _merge(blocks, top)
    placed = [0.0] * len(centres)
    for block in blocks:
        y = block.wish
        for i in block.members:
            placed[i] = y + heights[i] / 2
            y += heights[i]
    return placed


def _merge(blocks: list[_Block], top: float) -> None:
    lower = blocks.pop()
    upper = blocks[-1]
    a, b = len(upper.members), len(lower.members)
    wish = (a * upper.wish + b * (lower.wish - upper.height)) / (a + b)
    blocks[-1] = _Block(max(top, wish), upper.height + lower.height, upper.members + lower.members)
