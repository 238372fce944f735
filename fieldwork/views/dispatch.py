"""An entry of a phone on its way to the one view that records it, and what came of it.

The view decides who may record, what is right and where it is stored, as it does for its page. Here an entry is only
led there once, in one transaction with the row that remembers it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from http import HTTPStatus
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.contrib.messages import WARNING
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import Http404
from django.urls import Resolver404, ResolverMatch, resolve
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from accounts.views.current_organisation import PersonRequest
from core.errors import NoRoomError, RainthroughError
from core.views.errors import words_of
from fieldwork.calc import answers
from fieldwork.calc.answers import Answer, Code, no, not_now
from fieldwork.calc.clock import Stamps
from fieldwork.calc.fields import SentFile, by_our_clock, digest, with_id
from fieldwork.calc.forms import FIELD_FORMS
from fieldwork.calc.meta import EntryMeta
from fieldwork.calc.placeholders import entries_named, with_rows
from fieldwork.models import FieldEntry
from fieldwork.selectors.entries import Place, find_entry, place_of, rows_of_entries
from fieldwork.services.entries import claim_entry, complete_entry
from fieldwork.views.request_anew import Files, request_anew
from fieldwork.views.told import NO_FORM

NOT_YOURS = gettext_noop(
    "There is no such record, or it is not yours to record on. It may belong to another firm."
)
NO_ROLE = gettext_noop("Your role in this firm does not let you record this. Ask who administers it.")
WAITS = gettext_noop("What this belongs to has not arrived yet. Send that first.")
OTHERWISE = gettext_noop(
    "Another entry was stored under the same id. Open it, and record what differs as a new one."
)


@dataclass(frozen=True, slots=True)
class Sending:
    """An entry as it came. person: who made it; taken_in_by: who brought it in a file, where it came in one."""

    entry_id: UUID
    meta: EntryMeta
    files: Files
    person: User
    stamps: Stamps
    taken_in_by: User | None = None

    @property
    def digest(self) -> str:
        """The same for every sending of this entry."""
        return digest(self.meta.path, self.meta.fields, _hashed(self.files))


class NotStoredError(Exception):
    """Ends the transaction of an entry that is not stored."""

    def __init__(self, answer: Answer) -> None:
        super().__init__(answer.content)
        self.answer = answer


def record(request: PersonRequest, sending: Sending) -> Answer:
    """Store an entry, or find it stored, or say why it is not. What no rule of ours foresees is raised on."""
    earlier = find_entry(sending.entry_id)
    if earlier:
        return _once_more(earlier, sending)
    try:
        return _led_to_its_view(request, sending)
    except NotStoredError as error:
        return error.answer
    except PermissionDenied as error:
        return no(HTTPStatus.FORBIDDEN, Code.NO_ROLE, str(error) or _(NO_ROLE))
    except Http404:
        return no(HTTPStatus.NOT_FOUND, Code.NOT_FOUND, _(NOT_YOURS))
    except RainthroughError as error:
        return not_now(words_of(request, error), is_full=isinstance(error, NoRoomError))


def _once_more(entry: FieldEntry, sending: Sending) -> Answer:
    """The answer that an entry got when it was stored; another's, or another content, under its id is told."""
    if entry.person_id != sending.person.pk:
        return no(HTTPStatus.CONFLICT, Code.STORED_OTHERWISE, _(OTHERWISE), url="")
    if entry.digest != sending.digest:
        return no(HTTPStatus.CONFLICT, Code.STORED_OTHERWISE, _(OTHERWISE), url=entry.url)
    return _answer_of(entry, was_there=True)


def _answer_of(entry: FieldEntry, *, was_there: bool) -> Answer:
    return answers.stored(
        entry.pk,
        entry.row_pk,
        entry.url,
        notes=entry.notes.splitlines(),
        warnings=entry.warnings.splitlines(),
        was_there=was_there,
    )


def _led_to_its_view(request: PersonRequest, sending: Sending) -> Answer:
    path = _path_with_rows(request.user, sending.meta.path)
    match = _match_of(path)
    place = place_of(request.user, FIELD_FORMS[match.view_name], match.kwargs["pk"])
    if place is None:
        raise Http404
    return _stored(request, sending, place, path, match)


def _path_with_rows(user: User, path: str) -> str:
    named = entries_named(path)
    rows = rows_of_entries(user, named)
    missing = sorted(str(one) for one in named - rows.keys())
    if missing:
        raise NotStoredError(no(HTTPStatus.FAILED_DEPENDENCY, Code.WAITS_FOR, _(WAITS), entries=missing))
    return with_rows(path, rows)


def _match_of(path: str) -> ResolverMatch:
    try:
        match = resolve(urlsplit(path).path)
    except Resolver404:
        match = None
    if match is None or match.view_name not in FIELD_FORMS:
        raise NotStoredError(no(HTTPStatus.BAD_REQUEST, Code.NOT_A_FORM, _(NO_FORM)))
    return match


@transaction.atomic
def _stored(
    request: PersonRequest, sending: Sending, place: Place, path: str, match: ResolverMatch
) -> Answer:
    entry, is_new = claim_entry(
        entry_id=sending.entry_id,
        organisation=place.organisation,
        person=sending.person,
        meta=sending.meta,
        digest=sending.digest,
        stamps=sending.stamps,
        taken_in_by=sending.taken_in_by,
    )
    if not is_new:  # another request stored it a moment ago
        return _once_more(entry, sending)
    meta = sending.meta
    fields = by_our_clock(with_id(meta.fields, sending.entry_id), sending.stamps, meta.by_clock, place.zone)
    units = meta.units or sending.person.units
    inner, teller, notes = request_anew(request, path, match, fields, sending.files, units)
    match.func(inner, *match.args, **match.kwargs)
    if teller.row is None:
        raise NotStoredError(teller.answer)
    said, warnings = notes.said(), notes.said(WARNING)
    complete_entry(entry=entry, row=teller.row, url=teller.url, notes=said, warnings=warnings)
    return _answer_of(entry, was_there=False)


def _hashed(files: Files) -> Iterator[SentFile]:
    for field, sent in files.lists():
        yield from (SentFile(field, _sha256(one)) for one in sent)


def _sha256(file: UploadedFile[Any]) -> str:
    found = sha256()
    for chunk in file.chunks():
        found.update(chunk)
    file.seek(0)
    return found.hexdigest()
