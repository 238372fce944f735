"""A backup of one machine's data in one file, and its return, checked to the last byte.

Copying a database file while it is in use gives a copy that cannot be read. SQLite itself writes the copy here
(VACUUM INTO), as of one moment. The files that people sent are taken after it: a file is on the disk before its row
is, and none is ever erased, so every row of the copy finds its file in the backup.
"""

import hashlib
import json
import logging
import os
import sqlite3
import tarfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from io import BytesIO
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils.timezone import now

from core.errors import NotAllowedNowError, RainthroughError
from operations.calc.signs import SignOf
from operations.services import signs

log = logging.getLogger(__name__)

FORMAT = 1
DATABASE, KEY, FILES = "database.sqlite3", "secret-key", "files"
CHUNK = 1 << 20

ONLY_SQLITE = (
    "This server keeps its data in PostgreSQL, which has its own tools: pg_dump and pg_restore for the database. "
    "Copy the folder {files} after the dump, and put it back before the database."
)
IN_THE_WAY = (
    "{path} is there already. Move it away, or give --replace to have it kept beside the restored one."
)


class BackupBrokenError(RainthroughError):
    """A backup cannot be trusted: something in it is missing, changed, or not what this program wrote."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One file of a backup. sha256: of its content, in hexadecimal."""

    name: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup holds, and when it was made (UTC, ISO 8601)."""

    format: int
    made_at: str
    entries: tuple[Entry, ...]

    @property
    def size_bytes(self) -> int:
        """Of everything in it."""
        return sum(entry.size_bytes for entry in self.entries)


def make_backup(target: Path) -> Manifest:
    """Write everything to one file. Raises NotAllowedNowError with PostgreSQL, or where `target` is there already."""
    if connection.vendor != "sqlite":
        raise NotAllowedNowError(ONLY_SQLITE.format(files=settings.MEDIA_ROOT))
    if target.exists():
        raise NotAllowedNowError(
            f"{target} is there already. Give another name: a backup is never written over."
        )
    with TemporaryDirectory(dir=target.parent, prefix=".backup-") as name:
        folder = Path(name)
        _copy_database(folder / DATABASE)
        part = folder / "backup.tar"
        manifest = _write(part, folder / DATABASE)
        check_backup(part)
        os.replace(part, target)
    _note_it()
    return manifest


def _note_it() -> None:
    """Note when it was made; a database of an older edition, backed up before it is migrated, has no place for that."""
    try:
        signs.note(SignOf.BACKUP)
    except DatabaseError as error:
        log.info("When this backup was made could not be noted in the database: %s", error)


def _copy_database(copy: Path) -> None:
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(copy)])


def _write(archive: Path, database: Path) -> Manifest:
    sources = [(DATABASE, database), *_key(), *_sent_files()]
    with tarfile.open(archive, "w") as tar:
        entries = tuple(_add(tar, name, path) for name, path in sources)
        manifest = Manifest(FORMAT, now().isoformat(timespec="seconds"), entries)
        _add_bytes(tar, "manifest.json", json.dumps(asdict(manifest), indent=1).encode())
    archive.chmod(0o600)  # the signing key and people's records are in it
    return manifest


def _key() -> Iterator[tuple[str, Path]]:
    path = Path(settings.DATA_DIR) / KEY
    if path.exists():
        yield KEY, path


def _sent_files() -> Iterator[tuple[str, Path]]:
    root = Path(settings.MEDIA_ROOT)
    for path in sorted(root.rglob("*")):
        if path.is_file():
            yield f"{FILES}/{path.relative_to(root).as_posix()}", path


def _add(tar: tarfile.TarFile, name: str, path: Path) -> Entry:
    digest, size = _digest(path)
    tar.add(path, arcname=name, recursive=False)
    return Entry(name, size, digest)


def _add_bytes(tar: tarfile.TarFile, name: str, content: bytes) -> None:
    member = tarfile.TarInfo(name)
    member.size = len(content)
    tar.addfile(member, BytesIO(content))


def _digest(path: Path) -> tuple[str, int]:
    digest, size = hashlib.sha256(), 0
    with path.open("rb") as file:
        while chunk := file.read(CHUNK):
            digest.update(chunk)
            size += len(chunk)
    return digest.hexdigest(), size


def check_backup(archive: Path) -> Manifest:
    """Read a backup to its end and hold it against its own list. Raises BackupBrokenError, saying what is wrong."""
    with TemporaryDirectory(prefix="check-") as name:
        return _unpacked(archive, Path(name))


def _unpacked(archive: Path, folder: Path) -> Manifest:
    with _opened(archive) as tar:
        manifest = _manifest(tar)
        for entry in manifest.entries:
            _unpack(tar, entry, folder)
    _check_database(folder / DATABASE)
    return manifest


@contextmanager
def _opened(archive: Path) -> Iterator[tarfile.TarFile]:
    try:
        with tarfile.open(archive, "r:") as tar:
            yield tar
    except FileNotFoundError as error:
        raise BackupBrokenError(f"{archive} is not there. Check its name.") from error
    except (tarfile.TarError, EOFError) as error:
        raise BackupBrokenError(f"{archive} is no whole backup: {error}. Take another one.") from error


def _manifest(tar: tarfile.TarFile) -> Manifest:
    data = _plain_manifest(tar)
    if data.get("format") != FORMAT:
        raise BackupBrokenError(f"The backup has format {data.get('format')!r}; this edition reads {FORMAT}.")
    entries = tuple(Entry(**entry) for entry in data["entries"])
    if DATABASE not in {entry.name for entry in entries}:
        raise BackupBrokenError("The backup lists no database. Take another one.")
    for entry in entries:
        _refuse_strange_name(entry.name)
    return Manifest(data["format"], data["made_at"], entries)


def _plain_manifest(tar: tarfile.TarFile) -> dict[str, Any]:
    try:
        member = tar.extractfile("manifest.json")
        return dict(json.loads(member.read())) if member else {}
    except (KeyError, json.JSONDecodeError) as error:
        raise BackupBrokenError("The file has no readable list of what is in it; it is no backup.") from error


def _refuse_strange_name(name: str) -> None:
    """A list that somebody else wrote must not place a file outside the data folder."""
    parts = PurePosixPath(name).parts
    if name not in (DATABASE, KEY) and (parts[:1] != (FILES,) or ".." in parts or "\\" in name):
        raise BackupBrokenError(f"The backup lists {name!r}, which no backup of this program has.")


def _unpack(tar: tarfile.TarFile, entry: Entry, folder: Path) -> None:
    try:
        source = tar.extractfile(entry.name)
    except KeyError as error:
        raise BackupBrokenError(f"{entry.name} is missing in the backup. Take another one.") from error
    if source is None:
        raise BackupBrokenError(f"{entry.name} is no plain file in the backup. Take another one.")
    target = folder / entry.name
    target.parent.mkdir(parents=True, exist_ok=True)
    with source, target.open("wb") as file:
        while chunk := source.read(CHUNK):
            file.write(chunk)
    if _digest(target) != (entry.sha256, entry.size_bytes):
        raise BackupBrokenError(
            f"{entry.name} is not what was backed up: its checksum differs. Take another one."
        )


def _check_database(path: Path) -> None:
    try:
        with closing(sqlite3.connect(path)) as database:
            found = database.execute("PRAGMA integrity_check").fetchone()[0]
    except sqlite3.DatabaseError as error:
        raise BackupBrokenError(f"The database in the backup cannot be read: {error}.") from error
    if found != "ok":
        raise BackupBrokenError(f"The database in the backup is damaged: {found}.")


def restore_backup(archive: Path, data_dir: Path, database: Path, *, replace: bool = False) -> Manifest:
    """Put a backup where this machine keeps its data, all of it or nothing; the server must be stopped.

    Nothing is erased: with `replace`, what was there is kept beside it under a name that says when; a signing key,
    which every start makes where there is none, is kept so without asking.
    Raises BackupBrokenError, or NotAllowedNowError where something is in the way.
    """
    data_dir.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(dir=data_dir, prefix=".restore-") as name:
        folder = Path(name)
        manifest = _unpacked(archive, folder)
        _make_room(data_dir, database, replace)
        for source, target in (
            (folder / KEY, data_dir / KEY),
            (folder / FILES, data_dir / FILES),
            (folder / DATABASE, database),
        ):
            if source.exists():
                os.replace(source, target)
    return manifest


def _make_room(data_dir: Path, database: Path, replace: bool) -> None:
    # What SQLite keeps beside a database in use belongs to the old one and would spoil the new.
    beside = [Path(f"{database}{ending}") for ending in ("-wal", "-shm")]
    present = [path for path in (database, *beside, data_dir / FILES) if path.exists()]
    if present and not replace:
        raise NotAllowedNowError(IN_THE_WAY.format(path=present[0]))
    stamp = now().strftime("%Y%m%dT%H%M%S%f")
    for path in (*present, data_dir / KEY):
        if path.exists():
            os.replace(path, path.with_name(f"{path.name}.before-{stamp}"))
