"""Bringing an archive of everything a firm had back into a firm that is empty.

Every row gets a new id, in every column and text that names it, so that an archive may come back beside the firm that
it is from. Rows are stored as they were, with times, corrections and earlier versions; nothing is worked out
anew. Links lead only to rows of the archive, and nobody gets access to anything.
"""

import csv
from collections.abc import Callable, Mapping
from typing import IO, Any
from uuid import uuid4, uuid5

from django.contrib.auth.hashers import make_password
from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.db import DatabaseError, transaction
from django.utils import translation
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import Membership, Organisation, User
from core.calc.jobs import JobState
from core.errors import NotAllowedNowError, UnusableRecordError
from core.models.folded import fold_row
from core.services import jobs
from core.services.records import find_by_device_id
from exchange.models import Restoration
from exchange.selectors.tables import StoredTable, rows_in_words, stored_tables
from exchange.services.archive_opening import (
    NOT_AN_ARCHIVE,
    UNPACKING,
    Restored,
    broken,
    open_archive,
    refuse_changes,
)
from exchange.services.archive_rows import as_id, people_of, rows_of
from exchange.services.finished_notices import language_of
from maintenance.models import MethodTerms
from qa.services.batches import in_pieces

NOT_EMPTY = gettext_noop(
    "%(firm)s has records already (%(table)s). "
    "An archive comes back only into a firm without any: set up a new one."
)
LEFT = "restored.invalid"  # RFC 2606: an address that can never be anybody's

# What a firm has by having been set up or looked at; the archive's takes its place.
_SET_UP = frozenset({"organisation", "organisation_history", "method_terms", "method_terms_history"})


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
            params = {"firm": organisation, "table": rows_in_words(stored.model)}
            raise NotAllowedNowError(_(NOT_EMPTY) % params)


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
        refuse_changes(restored)
        tables = [stored for stored in stored_tables() if stored.table.comes_back]
        restored.people = people_of(restored)
        for stored in tables:
            _give_new_ids(restored, stored)
        _keep_device_ids(restored, tables)
        for stored in tables:
            restored.made += rows_of(restored, stored)
    except (*UNPACKING, csv.Error) as error:
        raise broken(str(error)) from error


def _give_new_ids(restored: Restored, stored: StoredTable) -> None:
    name = stored.table.name
    ids = [line.get("id", "") for line in restored.lines(name)]
    found = set(ids)
    if not stored.is_history and len(found) < len(ids):
        raise broken(_("csv/{table}.csv has two rows with one id").format(table=name))
    restored.known[name] = found
    for old in found:
        restored.ids.setdefault(old, str(uuid4()))
    if name == "organisation":
        if len(found) != 1:
            raise broken(_("csv/organisation.csv does not hold one firm"))
        restored.ids[next(iter(found))] = str(restored.organisation.pk)


def _keep_device_ids(restored: Restored, tables: list[StoredTable]) -> None:
    """The ids of sendings stay as they are, but for those that a row of this server has."""
    for stored in tables:
        if stored.is_history or not any(f.name == "device_id" for f in stored.fields):
            continue
        ids = [line["device_id"] for line in restored.lines(stored.table.name) if line.get("device_id")]
        for piece in in_pieces(ids):
            taken = stored.model._base_manager.filter(device_id__in=[as_id(one) for one in piece])
            for device_id in taken.values_list("device_id", flat=True):
                restored.ids[str(device_id)] = str(uuid5(restored.organisation.pk, str(device_id)))


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


def _store(restored: Restored) -> None:
    """Store every row that was read, as it is. Call inside a transaction."""
    try:
        with transaction.atomic():
            _store_rows(restored)
    except (DatabaseError, OverflowError) as error:
        raise broken(_("its rows do not fit together: {error}").format(error=error)) from error


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
    claim.progress(0, 2, gettext_noop("reading the archive"))
    content, name, storage = restoration.content, str(restoration.content.name), restoration.content.storage

    def ended(restored: Restored) -> None:
        claim.finish(rows=len(restored.made), content="")
        transaction.on_commit(lambda: storage.delete(name), robust=True)

    try:
        with translation.override(language_of(restoration)), content.open("rb") as opened:
            restore(organisation=restoration.organisation, content=opened, done=ended)
    except FileNotFoundError as error:
        raise UnusableRecordError(_(NOT_AN_ARCHIVE)) from error
    except NotAllowedNowError as error:
        raise UnusableRecordError(str(error)) from error
