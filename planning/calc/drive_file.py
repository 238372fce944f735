"""Drives that a firm measured itself, read from a file of comma-separated values.

The first line names the columns `from`, `to`, `minutes` and `km`, in any order; each further line is one drive between
two places by name. Columns are parted by commas, or by semicolons, where numbers may have a decimal comma. A drive
counts both ways unless the way back has a line of its own.
"""

import csv
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO
from math import isfinite
from typing import ClassVar
from uuid import UUID

from core.calc.payload import Payload
from core.calc.translation import gettext as _
from core.calc.translation import ngettext

COLUMNS = ("from", "to", "minutes", "km")
MOST_LINES = 200_000
MOST_TOLD = 20
LONGEST_MIN, LONGEST_KM = 24 * 60, 2000.0

Drive = tuple[int, int, int, float]  # places by their number, minutes, km


@dataclass(frozen=True, slots=True)
class DriveTimes(Payload):
    """Measured drives. places: ids of sites, and of crews for the depots they start from; drives: between them."""

    SCHEMA: ClassVar[int] = 1

    places: tuple[UUID, ...] = ()
    drives: tuple[Drive, ...] = ()


class DriveFileError(ValueError):
    """A file that cannot be taken. problems: what is wrong, with the line of each."""

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__(" ".join(problems))
        self.problems = list(problems)


def read_drives(text: str, places: Mapping[str, Sequence[UUID]], doubled: frozenset[str]) -> DriveTimes:
    """Drives of a file. places: ids by name, several where crews share a depot; doubled: names of more than one place.

    Names count without regard to case and outer blanks. Raises DriveFileError with everything that is wrong.
    """
    delimiter = ";" if ";" in text.partition("\n")[0] else ","
    rows = csv.reader(StringIO(text, newline=""), delimiter=delimiter)
    try:
        columns = _columns(next(rows, []))
    except csv.Error as error:
        raise DriveFileError(
            [_("Line {line} cannot be read: {error}.").format(line=1, error=error)]
        ) from error
    known: dict[str, list[UUID]] = defaultdict(list)
    for name, ids in places.items():
        known[plain(name)] += [pk for pk in ids if pk not in known[plain(name)]]
    reader = _Reader(columns, known, frozenset(map(plain, doubled)), decimal_comma=delimiter == ";")
    try:
        for row in rows:
            if any(cell.strip() for cell in row):
                reader.take(rows.line_num, row)
    except csv.Error as error:
        said = _("Line {line} cannot be read: {error}.").format(line=rows.line_num + 1, error=error)
        raise DriveFileError([said]) from error
    return reader.drives()


def plain(name: str) -> str:
    """A name as names are compared."""
    return " ".join(name.split()).casefold()


def _columns(head: Sequence[str]) -> dict[str, int]:
    found = {plain(name): i for i, name in enumerate(head)}
    missing = [name for name in COLUMNS if name not in found]
    if missing:
        said = _("Line 1 names no column {missing}; it has {given}. Name from, to, minutes, km.")
        # Translators: stands between names of columns that are missing.
        lacking = _(" and no ").join(missing)
        raise DriveFileError([said.format(missing=lacking, given=", ".join(head) or _("nothing"))])
    return {name: found[name] for name in COLUMNS}


class _Reader:
    """Lines as they are read, and what is wrong with them."""

    def __init__(
        self,
        columns: Mapping[str, int],
        known: Mapping[str, Sequence[UUID]],
        doubled: frozenset[str],
        decimal_comma: bool,
    ) -> None:
        self.columns, self.known, self.doubled, self.decimal_comma = columns, known, doubled, decimal_comma
        self.problems: list[str] = []
        self.found: dict[tuple[str, str], tuple[int, int, float]] = {}

    def take(self, line: int, row: Sequence[str]) -> None:
        """Read one line."""
        if len(self.found) + len(self.problems) >= MOST_LINES:
            said = _("Line {line}: more than {most} drives. Send the nearer ones alone.")
            raise DriveFileError([said.format(line=line, most=MOST_LINES)])
        if len(row) <= max(self.columns.values()):
            self.problems.append(
                _("Line {line} has {given} columns; {needed} are needed.").format(
                    line=line, given=len(row), needed=max(self.columns.values()) + 1
                )
            )
            return
        cells = {name: row[at].strip() for name, at in self.columns.items()}
        ends = [self._place(line, cells[name]) for name in ("from", "to")]
        minutes = self._number(line, "minutes", cells["minutes"], LONGEST_MIN)
        km = self._number(line, "km", cells["km"], LONGEST_KM)
        if minutes is None or km is None or None in ends:
            return
        pair = (plain(cells["from"]), plain(cells["to"]))
        if pair in self.found:
            said = _("Line {line}: this drive stands in line {first} already.")
            self.problems.append(said.format(line=line, first=self.found[pair][0]))
        self.found[pair] = line, round(minutes), km

    def _place(self, line: int, name: str) -> str | None:
        if plain(name) in self.doubled:
            said = _("Line {line}: more than one place is called {name}. Give each its own name.")
            self.problems.append(said.format(line=line, name=name))
        elif plain(name) not in self.known:
            said = _("Line {line}: no site and no depot is called {name}.")
            self.problems.append(said.format(line=line, name=name or _("nothing")))
        else:
            return name
        return None

    def _number(self, line: int, name: str, written: str, most: float) -> float | None:
        plain_number = written.replace(",", ".") if self.decimal_comma else written
        try:
            value = float(plain_number)
        except ValueError:
            value = float("nan")
        if isfinite(value) and 0 <= value <= most:
            return value
        said = _("Line {line}: {name} is {given}; give a number from 0 to {most}.")
        self.problems.append(said.format(line=line, name=name, given=written or _("empty"), most=f"{most:g}"))
        return None

    def drives(self) -> DriveTimes:
        """All of them, both ways. Raises DriveFileError where a line was wrong, or none was there."""
        if self.problems:
            more = len(self.problems) - MOST_TOLD
            rest = ngettext("{count} more line is wrong.", "{count} more lines are wrong.", more)
            told = self.problems[:MOST_TOLD] + ([rest.format(count=more)] if more > 0 else [])
            raise DriveFileError(told)
        if not self.found:
            raise DriveFileError([_("The file names no drive. Send one with a line for each.")])
        at: dict[UUID, int] = {}
        drives = tuple(
            (at.setdefault(here, len(at)), at.setdefault(there, len(at)), minutes, km)
            for here, there, minutes, km in self._both_ways()
            if here != there
        )
        return DriveTimes(tuple(at), drives)

    def _both_ways(self) -> Iterator[tuple[UUID, UUID, int, float]]:
        for (here, there), (_line, minutes, km) in self.found.items():
            ways = [(here, there)] if (there, here) in self.found else [(here, there), (there, here)]
            for begin, end in ways:
                for one in self.known[begin]:
                    yield from ((one, other, minutes, km) for other in self.known[end])
