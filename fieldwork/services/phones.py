"""What phones tell of what they hold, and what the office does about it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.models import Organisation, User
from core.errors import AlreadyDoneError
from core.services.records import given_reason
from fieldwork.calc.phones import Contact, Held, HeldState, lost_among
from fieldwork.models import FieldEntry, HeldEntry, Phone
from fieldwork.services.entry_notices import tell_lost, tell_refused

TAKEN_AWAY = gettext_noop("Taken away on the phone by %s.")
NOT_OPEN = gettext_noop("%(title)s has arrived meanwhile, or somebody dealt with it. Nothing is left to do.")


@transaction.atomic
def note_contact(
    *,
    person: User,
    firms: Mapping[str, Organisation],
    acting_for: Organisation,
    contact: Contact,
    at: datetime,
) -> list[HeldEntry]:
    """Keep what a phone told; returns what it lost and nobody has dealt with.

    firms: those the person works for, by their id as text. What the phone holds for one is kept with that firm alone.
    """
    held = _by_firm(contact.held, firms, acting_for)
    known = Phone.objects.filter(person=person, device=contact.device, organisation__in=firms.values())
    of_firms = {acting_for, *held, *(phone.organisation for phone in known.select_related("organisation"))}
    phones = [_told(person, firm, contact, at) for firm in sorted(of_firms, key=lambda firm: str(firm.pk))]
    for phone in phones:
        refused = _keep_held(phone, held[phone.organisation], at)
        tell_refused(phone=phone, entries=refused, at=at)
    holds = {one.id for one in contact.held}
    _take_away(phones, set(contact.taken_away) - holds, person, at)
    _mark_lost(phones, holds | set(contact.sent), at)
    return list(HeldEntry.objects.open().filter(phone__in=phones, state=HeldState.LOST.value))


def _by_firm(
    held: Iterable[Held], firms: Mapping[str, Organisation], acting_for: Organisation
) -> defaultdict[Organisation, list[Held]]:
    found: defaultdict[Organisation, list[Held]] = defaultdict(list)
    for one in held:
        found[firms.get(one.firm, acting_for)].append(one)
    return found


def _told(person: User, firm: Organisation, contact: Contact, at: datetime) -> Phone:
    """The phone's row, as it tells of itself."""
    told = {
        "agent": _short(contact.agent, 300),
        "is_protected": contact.persisted,
        "offset_s": (at - contact.now).total_seconds(),
        "last_contact_at": at,
    }
    return Phone.objects.update_or_create(
        person=person, organisation=firm, device=contact.device, defaults=told
    )[0]


def _keep_held(phone: Phone, held: Iterable[Held], at: datetime) -> list[HeldEntry]:
    """Keep what a phone holds; returns what it holds as refused since now."""
    rows = {row.entry: row for row in phone.held.select_for_update()}
    refused = []
    for one in {each.id: each for each in held}.values():
        row = rows.get(one.id) or HeldEntry(phone=phone, entry=one.id)
        before = _columns(row)
        _fill(row, one, at)
        if row._state.adding or _columns(row) != before:  # a phone tells the same many times a day
            row.save()
        if row.parked_at == at:
            refused.append(row)
    return refused


def _columns(row: HeldEntry) -> list[object]:
    return [field.value_from_object(row) for field in row._meta.concrete_fields]


def _fill(row: HeldEntry, held: Held, at: datetime) -> None:
    """A phone that holds an entry again has not lost it, and whatever was done about that is open again.

    What was dealt with stays so while the phone tells of it what it told before.
    """
    state = (HeldState.PARKED if held.is_parked else HeldState.WAITING).value
    if row.state != state:
        row.dealt_with_at = row.dealt_with_by = None
        row.dealt_with_reason = ""
    row.title, row.about, row.made_at = _short(held.title, 200), _short(held.about, 200), held.made_at
    row.reason = _short(held.reason, 500) if held.is_parked else ""
    row.parked_at = (row.parked_at or at) if held.is_parked else None
    row.state, row.lost_at = state, None


def _take_away(phones: Collection[Phone], entries: Collection[UUID], person: User, at: datetime) -> None:
    """What a person takes off their phone needs nobody's eye; it is told who did, unless it was dealt with before."""
    taken = HeldState.TAKEN_AWAY.value
    rows = HeldEntry.objects.filter(phone__in=phones, entry__in=entries).exclude(state=taken)
    for phone in phones:
        with override(phone.organisation.language):
            reason = _short(_(TAKEN_AWAY) % person, 500)
        rows.filter(dealt_with_at=None, phone=phone).update(
            dealt_with_at=at, dealt_with_by=person, dealt_with_reason=reason
        )
    rows.update(state=taken, lost_at=None)


def _mark_lost(phones: Collection[Phone], kept: Collection[UUID], at: datetime) -> None:
    """Mark what the phone no longer has; what arrived needs nobody's eye any more."""
    rows = HeldEntry.objects.filter(phone__in=phones)
    before = set(rows.values_list("entry", flat=True))
    arrived = set(FieldEntry.objects.filter(pk__in=before).values_list("pk", flat=True))
    rows.filter(entry__in=arrived).delete()
    lost = lost_among(before, kept, arrived)
    gone = (HeldState.LOST.value, HeldState.TAKEN_AWAY.value)
    newly = list(rows.filter(entry__in=lost).exclude(state__in=gone))
    rows.filter(pk__in=[row.pk for row in newly]).update(state=HeldState.LOST.value, lost_at=at)
    for phone in phones:
        tell_lost(phone=phone, entries=[row for row in newly if row.phone_id == phone.pk], at=at)


@transaction.atomic
def deal_with(*, held: HeldEntry, by: User, reason: str, at: datetime) -> HeldEntry:
    """Say what was done about an entry that did not arrive, so that nobody looks for it again.

    Raises AlreadyDoneError where it has arrived, or somebody dealt with it before.
    """
    change = {
        "dealt_with_at": at,
        "dealt_with_by": by,
        "dealt_with_reason": _short(given_reason(reason), 500),
    }
    if not HeldEntry.objects.open().filter(pk=held.pk).update(**change):
        raise AlreadyDoneError(_(NOT_OPEN) % {"title": held})
    held.refresh_from_db()
    return held


def _short(words: str, most: int) -> str:
    return words.replace("\x00", "")[:most]
