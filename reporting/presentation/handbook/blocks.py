"""What the handbook is made of: chapters of blocks, the same for the page and the paper."""

from dataclasses import dataclass
from enum import StrEnum

Rows = tuple[tuple[str, ...], ...]


class Kind(StrEnum):
    """How a block is set."""

    TEXT = "text"
    TITLE = "title"
    POINTS = "points"
    STEPS = "steps"
    TABLE = "table"
    CAUTION = "caution"
    PICTURE = "picture"


@dataclass(frozen=True, slots=True)
class Block:
    """One of them. rows: of points and steps a lead and its text each, of a table its cells.

    key: the name of a picture, whose `text` stands below it; svg: the drawing itself, on the page.
    """

    kind: Kind
    text: str = ""
    rows: Rows = ()
    head: tuple[str, ...] = ()
    key: str = ""
    svg: str = ""

    @property
    def cells(self) -> list[list[tuple[str, str]]]:
        """The rows of a table, each cell with the name of its column."""
        return [list(zip(self.head, row, strict=True)) for row in self.rows]

    @property
    def is_text(self) -> bool:
        """Whether it is a paragraph."""
        return self.kind is Kind.TEXT

    @property
    def is_title(self) -> bool:
        """Whether it heads what follows."""
        return self.kind is Kind.TITLE

    @property
    def is_points(self) -> bool:
        """Whether its rows are points in any order."""
        return self.kind is Kind.POINTS

    @property
    def is_steps(self) -> bool:
        """Whether its rows follow one another."""
        return self.kind is Kind.STEPS

    @property
    def is_table(self) -> bool:
        """Whether its rows are those of a table."""
        return self.kind is Kind.TABLE

    @property
    def is_caution(self) -> bool:
        """Whether somebody can be hurt where it is not minded."""
        return self.kind is Kind.CAUTION

    @property
    def is_picture(self) -> bool:
        """Whether it is a drawing."""
        return self.kind is Kind.PICTURE


@dataclass(frozen=True, slots=True)
class Chapter:
    """One chapter. key: its anchor on the page."""

    key: str
    title: str
    blocks: tuple[Block, ...]


def text(said: str) -> Block:
    """A paragraph."""
    return Block(Kind.TEXT, said)


def title(said: str) -> Block:
    """A heading within a chapter."""
    return Block(Kind.TITLE, said)


def points(*rows: tuple[str, str]) -> Block:
    """Points, each with the words it begins with; these may be empty."""
    return Block(Kind.POINTS, rows=rows)


def steps(*rows: tuple[str, str]) -> Block:
    """Numbered steps."""
    return Block(Kind.STEPS, rows=rows)


def table(head: tuple[str, ...], rows: Rows, about: str = "") -> Block:
    """A table. about: what it shows, for who cannot see it."""
    return Block(Kind.TABLE, about, rows, head)


def caution(*said: str) -> Block:
    """What can hurt somebody, in sentences that stand one after the other."""
    return Block(Kind.CAUTION, " ".join(said))


def picture(key: str, said: str) -> Block:
    """A drawing by its name. said: what stands below it."""
    return Block(Kind.PICTURE, said, key=key)
