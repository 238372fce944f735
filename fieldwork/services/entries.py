"""Keeping that an entry of a phone is stored, once."""

from collections.abc import Iterable
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Model

from accounts.models import Organisation, User
from core.models.rows import validate_and_save
from fieldwork.calc.clock import Stamps
from fieldwork.calc.meta import EntryMeta
from fieldwork.models import FieldEntry


@transaction.atomic
def claim_entry(
    *,
    entry_id: UUID,
    organisation: Organisation,
    person: User,
    meta: EntryMeta,
    digest: str,
    stamps: Stamps,
    taken_in_by: User | None = None,
) -> tuple[FieldEntry, bool]:
    """The row of an entry, and whether this sending made it: of two at once, the second waits and gets the first's.

    Belongs into the transaction that stores what the entry holds, so that either both are there or neither.
    """
    row = FieldEntry(
        id=entry_id,
        organisation=organisation,
        person=person,
        taken_in_by=taken_in_by,
        device=meta.device,
        path=meta.path,
        title=_short(meta.title),
        about=_short(meta.about),
        form_version=_short(meta.form_version),
        digest=digest,
        made_at=meta.made_at,
        sent_at=meta.sent_at,
        received_at=stamps.received_at,
        offset_s=stamps.offset.total_seconds(),
    )
    try:
        with transaction.atomic():
            validate_and_save(row)
    except (IntegrityError, ValidationError):
        first = FieldEntry.objects.filter(pk=entry_id).first()
        if first is None:
            raise
        return first, False
    return row, True


@transaction.atomic
def complete_entry(
    *, entry: FieldEntry, row: Model, url: str, notes: Iterable[str], warnings: Iterable[str]
) -> FieldEntry:
    """Keep which row an entry stored, and what was said of it: the answer to every later sending."""
    entry.row_pk, entry.url = str(row.pk), url
    entry.notes, entry.warnings = _lines(notes), _lines(warnings)
    validate_and_save(entry, "row_pk", "url", "notes", "warnings")
    return entry


def _lines(texts: Iterable[str]) -> str:
    return "\n".join(" ".join(text.split()) for text in texts)


def _short(words: str, most: int = 200) -> str:
    """Words as a column takes them: they only help people to find the entry again, so that none is refused for them."""
    return words.replace("\x00", "")[:most]
