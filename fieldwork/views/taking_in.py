"""Taking in the copy of what a phone holds: each entry goes the way it would have gone from the phone."""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta
from http import HTTPStatus
from typing import Any

from django.core.exceptions import SuspiciousOperation
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import Organisation, User
from accounts.views.current_organisation import PersonRequest
from core.errors import UnusableRecordError
from fieldwork.calc.answers import Answer, Code, no
from fieldwork.calc.clock import KnownOffset, Stamps
from fieldwork.calc.meta import UNREADABLE, EntryMeta
from fieldwork.calc.phone_copy import CopiedEntry, PhoneCopy, entry_of, parents_first
from fieldwork.selectors.phones import last_contact_of, people_with_phones
from fieldwork.views.dispatch import Sending, record
from fieldwork.views.request_anew import Files

log = logging.getLogger(__name__)

UNKNOWN_PERSON = gettext_noop(
    "It was recorded by somebody who does not record for this firm. Ask who the phone belongs to, and take the copy in "
    "for their firm."
)
FAILED = gettext_noop(
    "The server failed on this one, and stored nothing of it. Tell who runs the server, keep the copy, and take it in "
    "again once that is mended; what is stored of it already is not stored twice."
)


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What came of an entry of the copy. person: who recorded it, None where that is not known."""

    title: str
    about: str
    person: User | None
    answer: Answer


def take_in(
    request: PersonRequest, organisation: Organisation, copy: PhoneCopy, at: datetime
) -> list[TakenIn]:
    """Store what a copy holds, each entry by itself, those first that others hang on."""
    people = {str(one.pk): one for one in people_with_phones(organisation)}
    return [_taken(request, given, people, at) for given in parents_first(copy.entries)]


def _taken(request: PersonRequest, given: dict[str, Any], people: dict[str, User], at: datetime) -> TakenIn:
    try:
        entry = entry_of(given)
    except UnusableRecordError as error:
        return TakenIn(_("Entry {id}").format(id=given.get("id")), "", None, _unreadable(str(error)))
    person = people.get(entry.meta.person)
    answer = _answer(request, entry, person, at)
    return TakenIn(entry.meta.title or str(entry.id), entry.meta.about, person, answer)


def _answer(request: PersonRequest, entry: CopiedEntry, person: User | None, at: datetime) -> Answer:
    """What came of an entry, whatever happens to it: the others of the copy wait behind it."""
    if person is None:
        return no(HTTPStatus.FORBIDDEN, Code.OTHER_PERSON, _(UNKNOWN_PERSON))
    try:
        stamps, files = _stamps(entry.meta, person, at), _files_of(entry)
        return record(request, Sending(entry.id, entry.meta, files, person, stamps, taken_in_by=request.user))
    except SuspiciousOperation as error:
        return _unreadable(_(UNREADABLE) % str(error).rstrip("."))
    except Exception:
        log.exception("Entry %s of a phone's copy could not be taken in.", entry.id)
        return no(HTTPStatus.INTERNAL_SERVER_ERROR, Code.FAILED, _(FAILED))


def _unreadable(text: str) -> Answer:
    return no(HTTPStatus.BAD_REQUEST, Code.UNREADABLE, text)


def _stamps(meta: EntryMeta, person: User, at: datetime) -> Stamps:
    """Its times; how wrong the clock was is known from a contact alone, since a file is not sent by the phone."""
    known = meta.known
    phone = None if known else last_contact_of(meta.device, person)
    if phone:
        known = KnownOffset(timedelta(seconds=phone.offset_s), phone.last_contact_at)
    return Stamps(meta.made_at, None, at, known)


def _files_of(entry: CopiedEntry) -> Files:
    files: Files = MultiValueDict()
    for one in entry.files:
        files.appendlist(one.field, SimpleUploadedFile(one.name or "file", one.base64, one.type))
    return files
