"""Rows of an archive as its tables hold them, with new ids and files, each held to what a form would take."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.db.models import Model
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from core.errors import UnreadablePayloadError
from core.models.payloads import StoredPayload
from core.services.digests import digest_of
from exchange.calc.tables import Kind, read_back, with_new_ids
from exchange.models import Restoration
from exchange.selectors.tables import PERSON, StoredTable, kind_of
from exchange.services.archive_opening import LINE, MISSING, NOT_AS_PACKED, Restored, broken

# Of a person: no database counts further, and Python reads no number of thousands of figures.
LONGEST_NUMBER = 20
NO_PERSON = gettext_noop("there is no person {number}")


def rows_of(restored: Restored, stored: StoredTable) -> Iterator[Model]:
    """Each row of a table as it is to be stored. Raises UnusableRecordError for one that no form would take."""
    columns = list(zip(stored.fields, stored.table.columns, strict=True))
    payloads = [value for value in _payloads_of(stored.model) if not stored.is_history]
    for number, line in enumerate(restored.lines(stored.table.name), start=2):
        place = _(LINE).format(file=f"csv/{stored.table.name}.csv", number=number)
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
        raise broken(f"{place}: {_(MISSING).format(name=field.attname)}")
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
            raise broken(
                _("{place}: {value} is no {what}").format(
                    place=place, value=repr(str(value)[:40]), what=column.verbose_name
                )
            )


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
        raise broken(
            _("{place}: {value} in {column}").format(place=place, value=repr(cell[:60]), column=field.attname)
        ) from error
    return _kept_file(restored, value, place) if kind is Kind.FILE else value


def _linked(restored: Restored, stored: StoredTable, field: Any, cell: str, place: str) -> UUID | None:
    """The new id of a row. Of earlier versions it may be of a row that is gone; else the row is in the archive."""
    if not cell:
        return None
    as_id(cell)
    column = next(c for c in stored.table.columns if c.name == field.attname)
    if column.refers_to and cell not in restored.known.get(column.refers_to, ()):
        raise broken(
            _("{place}: {column} leads to no row of the archive").format(place=place, column=field.attname)
        )
    if field.name == "device_id":
        return UUID(restored.ids.get(cell, cell))
    return UUID(restored.ids.setdefault(cell, str(uuid4())))


def _person(restored: Restored, cell: str, place: str) -> int | None:
    if not cell:
        return None
    if not _is_number(cell) or int(cell) not in restored.people:
        raise broken(f"{place}: {_(NO_PERSON).format(number=repr(cell[:20]))}")
    return int(cell)  # of the archive; whoever stands for them is known when everything is read


def _is_number(cell: str) -> bool:
    return cell.isdecimal() and len(cell) <= LONGEST_NUMBER


def people_of(restored: Restored) -> dict[int, tuple[str, str]]:
    """Address and name of people by their number in the archive. Raises UnusableRecordError."""
    found: dict[int, tuple[str, str]] = {}
    for line in restored.lines(PERSON):
        if not _is_number(line["id"]):
            raise broken(_(NO_PERSON).format(number=repr(line["id"][:20])))
        email, name = (read_back(line[key].replace("\x00", ""), Kind.TEXT) for key in ("email", "full_name"))
        found[int(line["id"])] = str(email or ""), str(name or "")
    return found


def as_id(text: str) -> UUID:
    """An id as it stands in an archive. Raises UnusableRecordError."""
    try:
        return UUID(text)
    except ValueError as error:
        raise broken(_("{text} is no id").format(text=repr(text))) from error


# ---- files ------------------------------------------------------------------------------------------


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
        raise broken(f"{place}: {_(MISSING).format(name=path[:80])}")
    with restored.archive.open(path) as opened:
        if digest_of(opened)[0] != entry.get("sha256"):
            raise broken(_(NOT_AS_PACKED).format(name=path[:80]))
    with restored.archive.open(path) as opened:
        name = storage_field.storage.save(new_name, File(opened))
    restored.files.append((storage_field.storage, name))
    return str(name)


def _entries(restored: Restored) -> list[dict[str, Any]]:
    found = restored.manifest.get("files")
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []
