"""A backup of the server's data in one file, read back to its last row before it gets its name.

The same from SQLite and from PostgreSQL, so that it can be restored into either: rows as lines of JSON, a file a table
(`table_rows.py`), as of one moment (`databases.py`); then the files that people sent and the signing key. Files are
taken after the rows: a file is on the disk before its row is, so every row finds its file in the backup.
"""

import gzip
import json
import logging
import os
import tarfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections
from django.utils.timezone import now

from core.errors import NotAllowedNowError
from core.services.digests import digest_of
from operations.calc.manifest import (
    FILES,
    FORMAT,
    KEY,
    LIST,
    UNREADABLE,
    BackupBrokenError,
    Entry,
    Manifest,
    Table,
    read_manifest,
)
from operations.calc.signs import SignOf
from operations.services import signs
from operations.services.databases import as_of_now, migrations_of_this_edition, migrations_run
from operations.services.table_rows import as_line, column_names, lines_of, stored_models

log = logging.getLogger(__name__)

PACKED = 1  # the level of gzip: its quickest halves the time of a backup, for a third more of bytes
THERE = "{path} is there already. Give another name: a backup is never written over."
NO_PLACE = "{path} is no folder. Make it, or give the name of a file in one that there is."
NOT_UP_TO_DATE = (
    "The database is not of this edition: it lacks {count} migrations, such as {one}. Make the backup with the edition "
    "that the data are of, or run migrate first."
)


def make_backup(target: Path, alias: str = DEFAULT_DB_ALIAS) -> Manifest:
    """Write everything to one file, while the server runs.

    Raises NotAllowedNowError where `target` is there already, its folder is not, or the database is of another edition.
    """
    if target.exists():
        raise NotAllowedNowError(THERE.format(path=target))
    if not target.parent.is_dir():
        raise NotAllowedNowError(NO_PLACE.format(path=target.parent))
    with TemporaryDirectory(dir=target.parent, prefix=".backup-") as name:
        part = Path(name) / "backup.tar"
        part.touch(mode=0o600)  # the signing key and people's records are in it
        manifest = _write(part, Path(name), alias)
        check_backup(part)
        os.replace(part, target)
    _note_it()
    return manifest


def _note_it() -> None:
    """Note when it was made. It is made, whether or not that can be noted."""
    try:
        signs.note(SignOf.BACKUP)
    except DatabaseError as error:
        log.warning("When this backup was made could not be noted in the database: %s", error)


def _write(archive: Path, folder: Path, alias: str) -> Manifest:
    with tarfile.open(archive, "w") as tar:
        with as_of_now(folder, alias) as there:
            migrations = _migrations(there)
            tables, entries = _add_tables(tar, folder, there)
        entries += [entry for name, path in (*_key(), *_sent_files()) if (entry := _add(tar, name, path))]
        made_at, kind = now().isoformat(timespec="seconds"), connections[alias].vendor
        manifest = Manifest(FORMAT, made_at, kind, migrations, tuple(tables), tuple(entries))
        _add_bytes(tar, LIST, manifest.as_json())
    return manifest


def _migrations(alias: str) -> tuple[str, ...]:
    needed = migrations_of_this_edition()
    if missing := needed - migrations_run(alias):
        raise NotAllowedNowError(NOT_UP_TO_DATE.format(count=len(missing), one=min(missing)))
    return tuple(sorted(needed))


def _add_tables(tar: tarfile.TarFile, folder: Path, alias: str) -> tuple[list[Table], list[Entry]]:
    tables, entries = [], []
    for model in stored_models():
        draft, count = folder / "rows", 0
        # Without name and time, so that equal rows make equal files.
        with draft.open("wb") as raw, gzip.GzipFile("", "wb", PACKED, raw, mtime=0) as file:
            for line in lines_of(model, alias):
                count += 1
                file.write(line.encode() + b"\n")
        table = Table(model._meta.db_table, column_names(model), count)
        if entry := _add(tar, table.entry_name, draft):
            tables.append(table)
            entries.append(entry)
    return tables, entries


def _key() -> Iterator[tuple[str, Path]]:
    path = Path(settings.DATA_DIR) / KEY
    if path.exists():
        yield KEY, path


def _sent_files() -> Iterator[tuple[str, Path]]:
    root = Path(settings.MEDIA_ROOT)
    for path in sorted(root.rglob("*")):
        if path.is_file():
            yield f"{FILES}/{path.relative_to(root).as_posix()}", path


def _add(tar: tarfile.TarFile, name: str, path: Path) -> Entry | None:
    """Add a file; None where it is gone by now, as archives are that were offered long enough."""
    try:
        with path.open("rb") as file:
            digest, size = digest_of(file)
        tar.add(path, arcname=name, recursive=False)
    except FileNotFoundError:
        log.info("%s was erased while the backup was made.", name)
        return None
    return Entry(name, size, digest)


def _add_bytes(tar: tarfile.TarFile, name: str, content: bytes) -> None:
    member = tarfile.TarInfo(name)
    member.size = len(content)
    tar.addfile(member, BytesIO(content))


def check_backup(archive: Path) -> Manifest:
    """Read a backup to its end and hold it against its own list. Raises BackupBrokenError, saying what is wrong."""
    with opened(archive) as tar:
        manifest = _manifest(tar)
        for entry in manifest.entries:
            take(tar, entry)
        for table in manifest.tables:
            _check_rows(tar, table)
    return manifest


@contextmanager
def opened(archive: Path) -> Iterator[tarfile.TarFile]:
    """The backup, to be read; what cannot be read of it raises BackupBrokenError."""
    try:
        with tarfile.open(archive, "r:") as tar:
            yield tar
    except FileNotFoundError as error:
        raise BackupBrokenError(f"{archive} is not there. Check its name.") from error
    except (tarfile.TarError, EOFError, gzip.BadGzipFile, zlib.error, UnicodeDecodeError) as error:
        raise BackupBrokenError(f"{archive} is no whole backup: {error}. Take another one.") from error


def _manifest(tar: tarfile.TarFile) -> Manifest:
    try:
        member = tar.extractfile(LIST)
    except KeyError as error:
        raise BackupBrokenError(UNREADABLE) from error
    return read_manifest(member.read() if member else b"")


def take(tar: tarfile.TarFile, entry: Entry, copy: IO[bytes] | None = None) -> None:
    """Read a file of the backup, write it to `copy`, and refuse what is not as listed."""
    with member_of(tar, entry.name) as source:
        found = digest_of(source, copy)
    if found != (entry.sha256, entry.size_bytes):
        raise BackupBrokenError(
            f"{entry.name} is not what was backed up: its checksum differs. Take another one."
        )


def member_of(tar: tarfile.TarFile, name: str) -> IO[bytes]:
    """A file of the backup, to be read."""
    try:
        source = tar.extractfile(name)
    except KeyError as error:
        raise BackupBrokenError(f"{name} is missing in the backup. Take another one.") from error
    if source is None:
        raise BackupBrokenError(f"{name} is no plain file in the backup. Take another one.")
    return source


def lines_in(tar: tarfile.TarFile, table: Table) -> Iterator[str]:
    """The rows of a table in the backup, a JSON object each."""
    with member_of(tar, table.entry_name) as packed, gzip.open(packed, "rt", encoding="utf-8") as lines:
        for line in lines:
            yield line.rstrip("\n")


def _check_rows(tar: tarfile.TarFile, table: Table) -> None:
    count, columns = 0, set(table.columns)
    for count, line in enumerate(lines_in(tar, table), start=1):
        if not _is_row(line, columns):
            raise BackupBrokenError(f"Row {count} of {table.name} in the backup is none. Take another one.")
    if count != table.rows:
        raise BackupBrokenError(f"The backup lists {table.rows} rows of {table.name}, and holds {count}.")


def _is_row(line: str, columns: set[str]) -> bool:
    try:
        row = json.loads(line)
    except json.JSONDecodeError:
        return False
    return isinstance(row, dict) and row.keys() == columns and as_line(row) == line
