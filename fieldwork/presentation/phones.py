"""Phones in words."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from core.calc.format import counted, moment
from fieldwork.calc.clock import TOLERANCE
from fieldwork.calc.phones import SETTLED_AFTER, HeldState
from fieldwork.models import HeldEntry, Phone

UNPROTECTED = gettext_noop(
    "Its browser may throw away what is stored. Put the page on the phone's home screen, and open it from "
    "there."
)
CLEARED = gettext_noop(
    "Another phone, or this one after its storage was cleared, came up since: what stands here may be lost. Look at "
    "the phone itself before you measure again."
)


@dataclass(frozen=True, slots=True)
class EntryLine:
    """An entry that did not arrive. settle: whether the office may say that it was dealt with."""

    row: HeldEntry
    made: str
    state: str
    reason: str
    is_bad: bool
    settle: bool


@dataclass(frozen=True, slots=True)
class PhoneCard:
    """A phone as its page shows it."""

    phone: Phone
    last_contact: str
    waits: str
    warnings: list[str]
    lines: list[EntryLine]


def phone_cards(phones: Iterable[Any], zone: ZoneInfo, at: datetime, may_settle: bool) -> list[PhoneCard]:
    """Each phone with what is open on it at an instant, the worst of it first. Times in `zone`.

    phones: as `fieldwork.selectors.phones.phones_of` gives them. may_settle: whether who looks may say that something
    was dealt with: what is lost or may be, and what was refused or waits for more than a day.
    """
    return [_card(phone, zone, at - SETTLED_AFTER if may_settle else None) for phone in phones]


def _card(phone: Any, zone: ZoneInfo, settles_before: datetime | None) -> PhoneCard:
    entries: list[HeldEntry] = phone.open_entries
    held = [row for row in entries if row.state != HeldState.LOST]
    return PhoneCard(
        phone=phone,
        last_contact=moment(phone.last_contact_at, zone),
        waits=_waits([row for row in held if row.state == HeldState.WAITING], zone),
        warnings=_warnings(phone, bool(held)),
        lines=[
            _line(row, zone, _may_be_settled(row, phone.was_replaced, settles_before))
            for row in _worst_first(entries)
        ],
    )


def _worst_first(entries: list[HeldEntry]) -> list[HeldEntry]:
    order = [HeldState.LOST, HeldState.PARKED, HeldState.WAITING]
    return sorted(entries, key=lambda row: (order.index(HeldState(row.state)), row.made_at))


def _may_be_settled(row: HeldEntry, was_replaced: bool, before: datetime | None) -> bool:
    if before is None:
        return False
    return row.state == HeldState.LOST or was_replaced or row.open_since < before


def _line(row: HeldEntry, zone: ZoneInfo, settle: bool) -> EntryLine:
    return EntryLine(
        row=row,
        made=moment(row.made_at, zone),
        state=_state(row, zone),
        reason=row.reason,
        is_bad=row.state != HeldState.WAITING,
        settle=settle,
    )


def _state(row: HeldEntry, zone: ZoneInfo) -> str:
    if row.state == HeldState.LOST and row.lost_at:
        return _("No longer on the phone on {when}, and not here").format(when=moment(row.lost_at, zone))
    if row.state == HeldState.PARKED and row.parked_at:
        return _("Since {when}").format(when=moment(row.parked_at, zone))
    return _("For signal")


def _waits(waiting: list[HeldEntry], zone: ZoneInfo) -> str:
    if not waiting:
        return _("Nothing waits on it")
    oldest = moment(min(row.made_at for row in waiting), zone)
    count = len(waiting)
    text = ngettext(
        "{count} record waits, of {oldest}", "{count} records wait, the oldest of {oldest}", count
    )
    return text.format(count=count, oldest=oldest)


def _warnings(phone: Any, holds_something: bool) -> list[str]:
    said = [_(CLEARED)] if phone.was_replaced and holds_something else []
    if phone.is_protected is False:
        said.append(_(UNPROTECTED))
    wrong = timedelta(seconds=phone.offset_s)
    if abs(wrong) > TOLERANCE:
        slow, fast = (
            _("Its clock is {span} slow. Have it set by the network."),
            _("Its clock is {span} fast. Have it set by the network."),
        )
        said.append((slow if wrong > timedelta(0) else fast).format(span=_span(abs(wrong))))
    return said


def _span(span: timedelta) -> str:
    """A span of more than two minutes in whole days, hours or minutes, two of them at least."""
    if span >= timedelta(days=2):
        return counted(round(span / timedelta(days=1)), "day")
    if span >= timedelta(hours=2):
        return counted(round(span / timedelta(hours=1)), "hour")
    return counted(round(span / timedelta(minutes=1)), "minute")


@dataclass(frozen=True, slots=True)
class SettledLine:
    """An entry that did not arrive and was dealt with."""

    row: HeldEntry
    made: str
    settled: str


def settled_lines(rows: Iterable[HeldEntry], zone: ZoneInfo) -> list[SettledLine]:
    """Entries that were dealt with, with when; times in `zone`."""
    return [
        SettledLine(row, moment(row.made_at, zone), moment(row.dealt_with_at, zone))
        for row in rows
        if row.dealt_with_at
    ]
