"""A copy of what a phone holds, as it writes it to a file: read, and put in the order in which it can be stored."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal
from uuid import UUID

from msgspec import Meta

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import UnusableRecordError
from fieldwork.calc.meta import EntryMeta, Instant, Words, convert, read
from fieldwork.calc.placeholders import entries_named

SCHEMA = 1
NOT_A_COPY = gettext_noop(
    "This is not a copy that a phone wrote, or the file is damaged: %s. Choose the file that 'Save a copy' wrote on "
    "the phone, or write it anew there."
)
OTHER_SCHEMA = gettext_noop(
    "This copy was written by another edition of the pages (schema %s; this server reads %s). Open the pages on the "
    "phone once with signal, and write the copy anew."
)


@dataclass(frozen=True, slots=True)
class CopiedFile:
    """A photo or PDF of an entry; `base64` is its content, decoded."""

    field: Annotated[str, Meta(min_length=1, max_length=200)]
    name: Words
    base64: bytes
    type: Words = ""


@dataclass(frozen=True, slots=True)
class CopiedEntry:
    """An entry as it would have been sent."""

    id: UUID
    meta: EntryMeta
    files: tuple[CopiedFile, ...] = ()


@dataclass(frozen=True, slots=True)
class PhoneCopy:
    """The file. Its entries are read one by one, so that one that cannot be read holds up none of the others."""

    format: Literal["rainthrough field entries"]
    schema: int
    device: UUID
    person: Words
    saved_at: Instant
    entries: tuple[dict[str, Any], ...]


def read_copy(content: bytes) -> PhoneCopy:
    """The copy in a file. Raises UnusableRecordError that says what is wrong with it."""
    try:
        copy = read(PhoneCopy, content)
    except UnusableRecordError as error:
        raise UnusableRecordError(_(NOT_A_COPY) % str(error.__cause__).rstrip(".")) from error
    if copy.schema != SCHEMA:
        raise UnusableRecordError(_(OTHER_SCHEMA) % (copy.schema, SCHEMA))
    return copy


def entry_of(given: dict[str, Any]) -> CopiedEntry:
    """One entry of a copy. Raises UnusableRecordError that says what cannot be read of it."""
    return convert(CopiedEntry, given)


def parents_first(entries: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """The entries, each after those whose rows its path names; beside that in the order of the file.

    What names itself round in a circle, or something that is not in the file, comes last, to be refused by itself.
    """
    left, ordered = list(entries), list[dict[str, Any]]()
    while left:
        waiting = {_id_of(one) for one in left}
        ready = [one for one in left if not _named_by(one) & waiting]
        if not ready:
            break
        ordered += ready
        left = [one for one in left if one not in ready]
    return ordered + left


def _id_of(entry: dict[str, Any]) -> str:
    return str(entry.get("id")).lower()


def _named_by(entry: dict[str, Any]) -> frozenset[str]:
    meta = entry.get("meta")
    path = meta.get("path") if isinstance(meta, dict) else None
    return frozenset(str(one) for one in entries_named(path)) if isinstance(path, str) else frozenset()
