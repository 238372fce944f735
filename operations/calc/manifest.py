"""The list of what a backup holds: read strictly, since somebody else may have written it."""

import json
from dataclasses import asdict, dataclass
from pathlib import PurePosixPath
from typing import Any

from core.errors import RainthroughError

FORMAT = 2
LIST, KEY, FILES, ROWS = "manifest.json", "secret-key", "files", "rows"
UNREADABLE = "The file has no readable list of what is in it; it is no backup."


class BackupBrokenError(RainthroughError):
    """A backup cannot be trusted: something in it is missing, changed, or not what this program wrote."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One file of a backup. sha256: of its content, in hexadecimal."""

    name: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the database, with the columns and the number of rows that are kept of it."""

    name: str
    columns: tuple[str, ...]
    rows: int

    @property
    def entry_name(self) -> str:
        """The file of the backup with its rows: a JSON object a line, packed by gzip."""
        return f"{ROWS}/{self.name}.jsonl.gz"


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup holds, when it was made (UTC, ISO 8601), and of which kind of database.

    migrations: those that had been run, by which the tables of an edition are told from those of another.
    """

    format: int
    made_at: str
    database: str
    migrations: tuple[str, ...]
    tables: tuple[Table, ...]
    entries: tuple[Entry, ...]

    @property
    def size_bytes(self) -> int:
        """Of everything in it."""
        return sum(entry.size_bytes for entry in self.entries)

    @property
    def rows(self) -> int:
        """Of all tables."""
        return sum(table.rows for table in self.tables)

    def as_json(self) -> bytes:
        """As it stands in the backup."""
        return json.dumps(asdict(self), indent=1).encode()


def read_manifest(text: bytes) -> Manifest:
    """The list as it stands in a backup. Raises BackupBrokenError where no backup of this edition has such a one."""
    data = _plain(text)
    if data.get("format") != FORMAT:
        raise BackupBrokenError(f"The backup has format {data.get('format')!r}; this edition reads {FORMAT}.")
    manifest = _typed(data)
    listed = [entry.name for entry in manifest.entries]
    for name in listed:
        _refuse_strange_name(name)
    if len(set(listed)) < len(listed):
        raise BackupBrokenError("The backup lists a file twice, which no backup of this program does.")
    rows = {name for name in listed if name.startswith(f"{ROWS}/")}
    if not rows or rows != {table.entry_name for table in manifest.tables}:
        raise BackupBrokenError("The backup lists other tables than rows of tables. Take another one.")
    return manifest


def _plain(text: bytes) -> dict[str, Any]:
    try:
        data = json.loads(text)
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        raise BackupBrokenError(UNREADABLE) from error
    if not isinstance(data, dict):
        raise BackupBrokenError(UNREADABLE)
    return data


def _typed(data: dict[str, Any]) -> Manifest:
    try:
        return Manifest(
            data["format"],
            str(data["made_at"]),
            str(data["database"]),
            tuple(map(str, data["migrations"])),
            tuple(Table(str(one["name"]), tuple(one["columns"]), one["rows"]) for one in data["tables"]),
            tuple(Entry(str(one["name"]), one["size_bytes"], one["sha256"]) for one in data["entries"]),
        )
    except (KeyError, TypeError) as error:
        raise BackupBrokenError(UNREADABLE) from error


def _refuse_strange_name(name: str) -> None:
    """A list that somebody else wrote must not place a file outside the data folder."""
    parts = PurePosixPath(name).parts
    if name != KEY and (parts[:1] not in ((FILES,), (ROWS,)) or ".." in parts or "\\" in name):
        raise BackupBrokenError(f"The backup lists {name!r}, which no backup of this program has.")
