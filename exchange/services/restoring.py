"""Bringing an archive of everything a firm had back into a firm that is empty.

Every row gets a new id, in every column and text that names it, so that an archive may come back beside the firm that
it is from. Rows are stored as they were, with times, corrections and earlier versions; nothing is worked out
anew. Links lead only to rows of the archive, and nobody gets access to anything.
"""

import csv
import json
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from io import TextIOWrapper
from typing import IO, Any
from uuid import UUID, uuid4, uuid5

from django.contrib.auth.hashers import make_password
from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.db import DatabaseError, transaction
from django.db.models import Model
from django.utils.timezone import now

from accounts.models import Membership, Organisation, User
from core.calc.jobs import JobState
from core.errors import NotAllowedNowError, UnreadablePayloadError, UnusableRecordError
from core.models.folded import fold_row
from core.models.payloads import StoredPayload
from core.services import jobs
from core.services.records import find_by_device_id
from exchange.calc.tables import Kind, read_back, with_new_ids
from exchange.models import Restoration
from exchange.selectors.tables import PERSON, StoredTable, all_tables, kind_of, stored_tables
from exchange.services.archive import EDITION, FORMAT, MANIFEST
from maintenance.models import MethodTerms
from qa.services.batches import in_pieces

MOST_UNPACKED = 4 * 1024**3
LONGEST_MANIFEST = 64 * 1024**2
PIECE = 1024**2
LONGEST_CELL = 64 * 1024**2
LONGEST_NUMBER = (
    20  # of a person: no database counts further, and Python reads no number of thousands of figures
)
NOT_AN_ARCHIVE = (
    "This is not an archive of everything a firm has, made here. Choose the file that was downloaded."
)
OTHER_EDITION = (
    "This archive has the edition %(edition)s; this server reads %(ours)d. Update the server first."
)
TOO_LARGE = "This archive unpacks to more than is brought back by this page. Ask whoever runs this server."
NOT_EMPTY = (
    "%(firm)s has records already (%(table)s). "
    "An archive comes back only into a firm without any: set up a new one."
)
BROKEN = (
    "The archive is broken or was changed: %(place)s. Nothing is stored. Use the file as it was downloaded."
)
LEFT = "restored.invalid"  # RFC 2606: an address that can never be anybody's

# What a damaged or a made-up archive does to whoever unpacks it.
_UNPACKING = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    RuntimeError,  # also a password, a way of packing that is not known, and data nested without end
    UnicodeDecodeError,
)
# What a firm has by having been set up or looked at; the archive's takes its place.
_SET_UP = frozenset({"organisation", "organisation_history", "method_terms", "method_terms_history"})


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
            raise broken(f"{name} is missing")
        with self.archive.open(name) as opened, TextIOWrapper(opened, encoding="utf-8", newline="") as text:
            reader = csv.DictReader(text)
            refuse_other_columns(table, reader.fieldnames or ())
            for number, line in enumerate(reader, start=2):
                if None in line or None in line.values():
                    raise broken(f"{name}, line {number}")
                yield line


def broken(place: str) -> UnusableRecordError:
    """The archive is not as it was made."""
    return UnusableRecordError(BROKEN % {"place": place})


def refuse_other_columns(table: str, names: Sequence[str]) -> None:
    """A column more would be lost without a word, and one less would come back empty."""
    known = {column.name for each in all_tables() if each.name == table for column in each.columns}
    if len(names) != len(known) or set(names) != known:
        other = sorted(known ^ set(names))
        raise broken(f"csv/{table}.csv has other columns than it should: {', '.join(other)[:200]}")


@transaction.atomic
def ask_to_restore(*, restoration: Restoration, sent: File[bytes]) -> Restoration:
    """Keep an archive and have it brought back. Raises ValidationError, NotAllowedNowError."""
    first = find_by_device_id(restoration, organisation=restoration.organisation_id)
    if first:
        return first
    refuse_records(restoration.organisation)
    try:
        open_archive(restoration.organisation, sent)
    except UnusableRecordError as error:
        raise ValidationError({"archive": str(error)}) from error
    sent.seek(0)
    restoration.content.save("", sent, save=False)
    restoration.save()
    jobs.nudge(restoration)
    return restoration


def refuse_records(organisation: Organisation) -> None:
    """Raise NotAllowedNowError for a firm that has records."""
    for stored in stored_tables():
        name = stored.table.name
        if stored.table.comes_back and name not in _SET_UP and stored.rows(organisation).exists():
            params = {"firm": organisation, "table": stored.model._meta.verbose_name_plural}
            raise NotAllowedNowError(NOT_EMPTY % params)


def open_archive(organisation: Organisation, content: IO[bytes] | File[bytes]) -> Restored:
    """An archive to read from. Raises UnusableRecordError for anything else."""
    csv.field_size_limit(LONGEST_CELL)
    try:
        archive = zipfile.ZipFile(content)  # type: ignore[arg-type]
        if sum(part.file_size for part in archive.infolist()) > MOST_UNPACKED:
            raise UnusableRecordError(TOO_LARGE)
        if archive.getinfo(MANIFEST).file_size > LONGEST_MANIFEST:
            raise UnusableRecordError(NOT_AN_ARCHIVE)
        manifest = json.loads(archive.read(MANIFEST))
    except (*_UNPACKING, KeyError, json.JSONDecodeError) as error:
        raise UnusableRecordError(NOT_AN_ARCHIVE) from error
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise UnusableRecordError(NOT_AN_ARCHIVE)
    if manifest.get("edition") != EDITION:
        raise UnusableRecordError(OTHER_EDITION % {"edition": manifest.get("edition"), "ours": EDITION})
    return Restored(organisation, archive, manifest)


def restore(
    *,
    organisation: Organisation,
    content: IO[bytes] | File[bytes],
    done: Callable[[Restored], object] = lambda restored: None,
) -> Restored:
    """Bring everything of an archive back, all of it or nothing. Raises UnusableRecordError, NotAllowedNowError.

    done: is called in the transaction that stores it.
    """
    restored = open_archive(organisation, content)
    try:
        _read(restored)
        with transaction.atomic():
            _store(restored)
            done(restored)
    except BaseException:
        take_files_away(restored)
        raise
    return restored


def _read(restored: Restored) -> None:
    try:
        _refuse_changes(restored)
        tables = [stored for stored in stored_tables() if stored.table.comes_back]
        restored.people = _people_of(restored)
        for stored in tables:
            _give_new_ids(restored, stored)
        _keep_device_ids(restored, tables)
        for stored in tables:
            restored.made += _rows(restored, stored)
    except (*_UNPACKING, csv.Error) as error:
        raise broken(str(error)) from error


def _refuse_changes(restored: Restored) -> None:
    """Every table that there is has the digest that the manifest says, and there is no other."""
    known, told = {table.name for table in all_tables()}, restored.manifest.get("tables")
    if not isinstance(told, dict):
        raise broken(f"{MANIFEST} names no tables")
    for name in sorted(known ^ told.keys()):
        raise broken(f"csv/{name}.csv is missing" if name in known else f"{name[:60]} is no table")
    for name, entry in told.items():
        path = f"csv/{name}.csv"
        if path not in restored.archive.NameToInfo:
            raise broken(f"{path} is missing")
        with restored.archive.open(path) as opened:
            if not isinstance(entry, dict) or digest_of(opened) != entry.get("sha256"):
                raise broken(f"{path} is not as it was packed")


def digest_of(opened: IO[bytes]) -> str:
    """SHA-256 of a file, read piece by piece."""
    digest = sha256()
    while piece := opened.read(PIECE):
        digest.update(piece)
    return digest.hexdigest()


def _give_new_ids(restored: Restored, stored: StoredTable) -> None:
    name = stored.table.name
    ids = [line.get("id", "") for line in restored.lines(name)]
    found = set(ids)
    if not stored.is_history and len(found) < len(ids):
        raise broken(f"csv/{name}.csv has two rows with one id")
    restored.known[name] = found
    for old in found:
        restored.ids.setdefault(old, str(uuid4()))
    if name == "organisation":
        if len(found) != 1:
            raise broken("csv/organisation.csv does not hold one firm")
        restored.ids[next(iter(found))] = str(restored.organisation.pk)


def _keep_device_ids(restored: Restored, tables: list[StoredTable]) -> None:
    """The ids of sendings stay as they are, but for those that a row of this server has."""
    for stored in tables:
        if stored.is_history or not any(f.name == "device_id" for f in stored.fields):
            continue
        ids = [line["device_id"] for line in restored.lines(stored.table.name) if line.get("device_id")]
        for piece in in_pieces(ids):
            taken = stored.model._base_manager.filter(device_id__in=[_uuid(one) for one in piece])
            for device_id in taken.values_list("device_id", flat=True):
                restored.ids[str(device_id)] = str(uuid5(restored.organisation.pk, str(device_id)))


def _uuid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise broken(f"{text!r} is no id") from error


# ---- rows --------------------------------------------------------------------------------------------


def _rows(restored: Restored, stored: StoredTable) -> Iterator[Model]:
    columns = list(zip(stored.fields, stored.table.columns, strict=True))
    payloads = [value for value in _payloads_of(stored.model) if not stored.is_history]
    for number, line in enumerate(restored.lines(stored.table.name), start=2):
        place = f"csv/{stored.table.name}.csv, line {number}"
        values = {
            field.attname: _present(field, _value(restored, stored, field, line[column.name], place), place)
            for field, column in columns
            if not (stored.is_history and field.name == "history_id") and not _own_number(field)
        }
        row = stored.model(**values)
        if not stored.is_history:
            _check(row, payloads, place)
        yield row


def _present(field: Any, value: Any, place: str) -> Any:
    if value is None and not field.null:
        raise broken(f"{place}: {field.attname} is missing")
    return value


def _own_number(field: Any) -> bool:
    """Whether the database counts it: a row gets the next number."""
    return bool(field.primary_key and kind_of(field) is Kind.WHOLE)


def _payloads_of(model: Any) -> list[StoredPayload[Any]]:
    return [
        value for cls in model.__mro__ for value in vars(cls).values() if isinstance(value, StoredPayload)
    ]


def _check(row: Any, payloads: list[StoredPayload[Any]], place: str) -> None:
    """What a form would have refused, no archive brings in."""
    links = [field.name for field in row._meta.concrete_fields if field.is_relation]
    _check_choices(row, place)
    try:
        row.clean_fields(exclude=links)
        for payload in payloads:
            stored = getattr(row, payload.column)
            if stored is not None:
                payload.payload.from_json(stored)
    except ValidationError as error:
        raise broken(f"{place}: {'; '.join(error.messages)}") from error
    except UnreadablePayloadError as error:
        raise broken(f"{place}: {error}") from error


def _check_choices(row: Any, place: str) -> None:
    """Django looks at the choices of those columns alone that a form may change."""
    for column in row._meta.concrete_fields:
        value = getattr(row, column.attname)
        if column.choices and value not in column.empty_values and value not in dict(column.flatchoices):
            raise broken(f"{place}: {str(value)[:40]!r} is no {column.verbose_name}")


def _value(restored: Restored, stored: StoredTable, field: Any, cell: str, place: str) -> Any:
    kind = kind_of(field)
    if field.is_relation and field.related_model is User:
        return _person(restored, cell, place)
    if kind is Kind.ID:
        return _linked(restored, stored, field, cell, place)
    if kind is Kind.DATA and cell:
        cell = with_new_ids(cell, restored.ids)
    try:
        value = read_back(cell, kind)
    except (ValueError, ArithmeticError, RecursionError) as error:
        raise broken(f"{place}: {cell[:60]!r} in {field.attname}") from error
    return _kept_file(restored, value, place) if kind is Kind.FILE else value


def _linked(restored: Restored, stored: StoredTable, field: Any, cell: str, place: str) -> UUID | None:
    """The new id of a row. Of earlier versions it may be of a row that is gone; else the row is in the archive."""
    if not cell:
        return None
    _uuid(cell)
    column = next(c for c in stored.table.columns if c.name == field.attname)
    if column.refers_to and cell not in restored.known.get(column.refers_to, ()):
        raise broken(f"{place}: {field.attname} leads to no row of the archive")
    if field.name == "device_id":
        return UUID(restored.ids.get(cell, cell))
    return UUID(restored.ids.setdefault(cell, str(uuid4())))


def _person(restored: Restored, cell: str, place: str) -> int | None:
    if not cell:
        return None
    if not _is_number(cell) or int(cell) not in restored.people:
        raise broken(f"{place}: there is no person {cell[:20]!r}")
    return int(cell)  # of the archive; whoever stands for them is known when everything is read


def _is_number(cell: str) -> bool:
    return cell.isdecimal() and len(cell) <= LONGEST_NUMBER


def _people_of(restored: Restored) -> dict[int, tuple[str, str]]:
    found: dict[int, tuple[str, str]] = {}
    for line in restored.lines(PERSON):
        if not _is_number(line["id"]):
            raise broken(f"there is no person {line['id'][:20]!r}")
        email, name = (read_back(line[key].replace("\x00", ""), Kind.TEXT) for key in ("email", "full_name"))
        found[int(line["id"])] = str(email or ""), str(name or "")
    return found


def _stand_ins(restored: Restored) -> dict[int, int]:
    """Whoever belongs to this firm stands for themselves; for everybody else a name that cannot sign in.

    An account elsewhere on this server is nobody's to sign records with.
    """
    mine = Membership.objects.of_organisation(restored.organisation).select_related("user")
    here = {membership.user.email: membership.user.pk for membership in mine}
    return {
        number: here.get(email) or _stand_in(restored, email, name)
        for number, (email, name) in restored.people.items()
    }


def _stand_in(restored: Restored, email: str, name: str) -> int:
    address = f"{uuid5(restored.organisation.pk, email)}@{LEFT}"
    called = (name or email.partition("@")[0])[:120]
    nobody = {"full_name": called, "is_active": False, "password": make_password(None)}
    return User.objects.get_or_create(email=address, defaults=nobody)[0].pk


# ---- files and storing ---------------------------------------------------------------------------------


def _kept_file(restored: Restored, path: str | None, place: str) -> str:
    """Store a file of the archive again; returns its name in storage."""
    if not path:
        return ""
    if not restored.entries:
        restored.entries = {str(one.get("path")): one for one in _entries(restored)}
    storage_field: Any = Restoration._meta.get_field("content")
    new_name = str(storage_field.generate_filename(None, "of an archive"))
    entry = restored.entries.get(path)
    if entry is None or path not in restored.archive.NameToInfo:
        if entry and entry.get("missing"):
            return new_name  # it was missing there, and under this name it is here: the page says so
        raise broken(f"{place}: {path[:80]} is missing")
    with restored.archive.open(path) as opened:
        if digest_of(opened) != entry.get("sha256"):
            raise broken(f"{path[:80]} is not as it was packed")
    with restored.archive.open(path) as opened:
        name = storage_field.storage.save(new_name, File(opened))
    restored.files.append((storage_field.storage, name))
    return str(name)


def _entries(restored: Restored) -> list[dict[str, Any]]:
    found = restored.manifest.get("files")
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def _store(restored: Restored) -> None:
    """Store every row that was read, as it is. Call inside a transaction."""
    try:
        with transaction.atomic():
            _store_rows(restored)
    except (DatabaseError, OverflowError) as error:
        raise broken(f"its rows do not fit together: {error}") from error


def _store_rows(restored: Restored) -> None:
    firm = Organisation.objects.select_for_update().get(pk=restored.organisation.pk)
    refuse_records(firm)
    MethodTerms.history.filter(organisation=firm).delete()
    MethodTerms.objects.of_organisation(firm).delete()
    Organisation.history.filter(id=firm.pk).delete()
    people = _stand_ins(restored)
    for row in restored.made:
        _name_people(row, people)
        is_firm = isinstance(row, Organisation)
        fold_row(row)
        row.save_base(raw=True, force_insert=not is_firm, force_update=is_firm)


def _name_people(row: Any, people: Mapping[int, int]) -> None:
    """In place of the numbers that people have in the archive, whoever stands for them here."""
    for column in row._meta.concrete_fields:
        if column.is_relation and column.related_model is User:
            number = getattr(row, column.attname)
            setattr(row, column.attname, None if number is None else people[number])


def take_files_away(restored: Restored) -> None:
    """After a refusal: nothing of it stays on the disk."""
    for storage, name in restored.files:
        storage.delete(name)


def remove_old() -> None:
    """Take archives away that did not come back, after some days: they hold everything a firm had."""
    left = Restoration.objects.filter(created_at__lt=now() - Restoration.KEPT, state=JobState.FAILED)
    for restoration in left.exclude(content=""):
        if left.filter(pk=restoration.pk).update(content=""):  # nobody has it tried again meanwhile
            restoration.content.storage.delete(str(restoration.content.name))


@jobs.works_on(Restoration, before_sweep=remove_old)
def bring_back(restoration: Restoration, claim: jobs.Claim) -> None:
    """Bring an archive back, and throw the file away."""
    claim.progress(0, 2, "reading the archive")
    content, name, storage = restoration.content, str(restoration.content.name), restoration.content.storage

    def ended(restored: Restored) -> None:
        claim.finish(rows=len(restored.made), content="")
        transaction.on_commit(lambda: storage.delete(name), robust=True)

    try:
        with content.open("rb") as opened:
            restore(organisation=restoration.organisation, content=opened, done=ended)
    except FileNotFoundError as error:
        raise UnusableRecordError(NOT_AN_ARCHIVE) from error
    except NotAllowedNowError as error:
        raise UnusableRecordError(str(error)) from error
