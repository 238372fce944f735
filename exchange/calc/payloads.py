"""What is kept of an import between its steps."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from core.calc.payload import Payload
from exchange.calc.problems import Remark


@dataclass(frozen=True, slots=True)
class SheetHead:
    """A sheet as it was sent: its headers, the first rows as people read them, and how many rows there are."""

    name: str
    headers: tuple[str, ...]
    samples: tuple[tuple[str, ...], ...]
    rows: int


@dataclass(frozen=True, slots=True)
class SheetHeads(Payload):
    """Every sheet of an import."""

    SCHEMA: ClassVar[int] = 1

    sheets: tuple[SheetHead, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetMatch:
    """What a sheet holds: its kind and the key of each column, each empty where it is left out."""

    kind: str
    columns: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Matching(Payload):
    """What every sheet of an import holds, in the order of its sheets."""

    SCHEMA: ClassVar[int] = 1

    sheets: tuple[SheetMatch, ...] = ()


@dataclass(frozen=True, slots=True)
class LearntColumns(Payload):
    """Keys of columns by plain header, as people of a firm matched them; empty for what they leave out."""

    SCHEMA: ClassVar[int] = 1

    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class KindCount:
    """Of one kind of row: how many are new, how many are there already, and how many of these differ."""

    kind: str
    new: int
    there: int
    differ: int


@dataclass(frozen=True, slots=True)
class ImportReport(Payload):
    """What a look at the sheets found. The numbers are of all remarks, of which the first are kept.

    places: label and address of what was made, once it is.
    """

    SCHEMA: ClassVar[int] = 1

    problems: tuple[Remark, ...] = ()
    problem_count: int = 0
    notices: tuple[Remark, ...] = ()
    notice_count: int = 0
    counts: tuple[KindCount, ...] = ()
    places: tuple[tuple[str, str], ...] = ()

    @property
    def new(self) -> int:
        """How many rows are, or were, made."""
        return sum(count.new for count in self.counts)
