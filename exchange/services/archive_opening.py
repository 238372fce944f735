"""An archive as it is opened to be brought back: whether it is one, whole, and as it was packed."""

import csv
import json
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from io import TextIOWrapper
from typing import IO, Any

from django.core.files.base import File
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import Organisation
from core.errors import UnusableRecordError
from core.services.digests import digest_of
from exchange.selectors.tables import all_tables
from exchange.services.archive import EDITION, FORMAT, MANIFEST

MOST_UNPACKED = 4 * 1024**3
LONGEST_MANIFEST = 64 * 1024**2
LONGEST_CELL = 64 * 1024**2
csv.field_size_limit(LONGEST_CELL)  # of the whole process: it is the same for every reader from the start on
NOT_AN_ARCHIVE = gettext_noop(
    "This is not an archive of everything a firm has, made here. Choose the file that was downloaded."
)
OTHER_EDITION = gettext_noop(
    "This archive has the edition %(edition)s; this server reads %(ours)d. Update the server first."
)
TOO_LARGE = gettext_noop(
    "This archive unpacks to more than is brought back by this page. Ask whoever runs this server."
)
BROKEN = gettext_noop(
    "The archive is broken or was changed: %(place)s. Nothing is stored. Use the file as it was downloaded."
)
MISSING = gettext_noop("{name} is missing")
NOT_AS_PACKED = gettext_noop("{name} is not as it was packed")
LINE = gettext_noop("{file}, line {number}")

# What a damaged or a made-up archive does to whoever unpacks it.
UNPACKING = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    RuntimeError,  # also a password, a way of packing that is not known, and data nested without end
    UnicodeDecodeError,
)


@dataclass(slots=True)
class Restored:
    """An archive as it is read. ids: the new one by the old; people: address and name by their number there."""

    organisation: Organisation
    archive: zipfile.ZipFile
    manifest: Mapping[str, Any]
    ids: dict[str, str] = field(default_factory=dict)
    people: dict[int, tuple[str, str]] = field(default_factory=dict)
    known: dict[str, set[str]] = field(default_factory=dict)
    made: list[Any] = field(default_factory=list)
    files: list[Any] = field(default_factory=list)
    entries: dict[str, dict[str, Any]] = field(default_factory=dict)

    def lines(self, table: str) -> Iterator[dict[str, str]]:
        """Lines of a table, by the names of its columns. Raises UnusableRecordError."""
        name = f"csv/{table}.csv"
        if name not in self.archive.NameToInfo:
            raise broken(_(MISSING).format(name=name))
        with self.archive.open(name) as opened, TextIOWrapper(opened, encoding="utf-8", newline="") as text:
            reader = csv.DictReader(text)
            refuse_other_columns(table, reader.fieldnames or ())
            for number, line in enumerate(reader, start=2):
                if None in line or None in line.values():
                    raise broken(_(LINE).format(file=name, number=number))
                yield line


def broken(place: str) -> UnusableRecordError:
    """The archive is not as it was made."""
    return UnusableRecordError(_(BROKEN) % {"place": place})


def refuse_other_columns(table: str, names: Sequence[str]) -> None:
    """A column more would be lost without a word, and one less would come back empty."""
    known = {column.name for each in all_tables() if each.name == table for column in each.columns}
    if len(names) != len(known) or set(names) != known:
        other = sorted(known ^ set(names))
        raise broken(
            _("csv/{table}.csv has other columns than it should: {columns}").format(
                table=table, columns=", ".join(other)[:200]
            )
        )


def open_archive(organisation: Organisation, content: IO[bytes] | File[bytes]) -> Restored:
    """An archive to read from. Raises UnusableRecordError for anything else."""
    try:
        archive = zipfile.ZipFile(content)  # type: ignore[arg-type]
        if sum(part.file_size for part in archive.infolist()) > MOST_UNPACKED:
            raise UnusableRecordError(_(TOO_LARGE))
        if archive.getinfo(MANIFEST).file_size > LONGEST_MANIFEST:
            raise UnusableRecordError(_(NOT_AN_ARCHIVE))
        manifest = json.loads(archive.read(MANIFEST))
    except (*UNPACKING, KeyError, json.JSONDecodeError) as error:
        raise UnusableRecordError(_(NOT_AN_ARCHIVE)) from error
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise UnusableRecordError(_(NOT_AN_ARCHIVE))
    if manifest.get("edition") != EDITION:
        raise UnusableRecordError(_(OTHER_EDITION) % {"edition": manifest.get("edition"), "ours": EDITION})
    return Restored(organisation, archive, manifest)


def refuse_changes(restored: Restored) -> None:
    """Every table that there is has the digest that the manifest says, and there is no other."""
    known, told = {table.name for table in all_tables()}, restored.manifest.get("tables")
    if not isinstance(told, dict):
        raise broken(_("{file} names no tables").format(file=MANIFEST))
    for name in sorted(known ^ told.keys()):
        raise broken(
            _(MISSING).format(name=f"csv/{name}.csv")
            if name in known
            else _("{name} is no table").format(name=name[:60])
        )
    for name, entry in told.items():
        path = f"csv/{name}.csv"
        if path not in restored.archive.NameToInfo:
            raise broken(_(MISSING).format(name=path))
        with restored.archive.open(path) as opened:
            if not isinstance(entry, dict) or digest_of(opened)[0] != entry.get("sha256"):
                raise broken(_(NOT_AS_PACKED).format(name=path))
