"""Telling people what happened: a notice for each who can get the kind, may see the row, and wants to be told.

Called in the transaction of what it tells of, by whatever service did it, so that both stand or neither. Telling the
same occasion twice tells it once, and nobody is told what they did themselves.
"""

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple
from uuid import UUID

from django.db import transaction
from django.db.models import Model
from django.utils import translation
from django.utils.timezone import now

from accounts.calc.notices import TERMS, NoticeKind, Way
from accounts.calc.roles import Role
from accounts.models import (
    DigestMail,
    Membership,
    Notice,
    NoticeChoice,
    NoticeSettings,
    Organisation,
    Owner,
    OwnerPerson,
    User,
)

AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class News:
    """One happening. about: the row it happened to; path: of the page that shows it; occasion: which happening.

    text: a function that gives it in the language of the moment, called for each language that somebody reads who is
    told; or a text for all of them.
    """

    kind: NoticeKind
    organisation: Organisation
    about: Model
    text: str | Callable[[], str]
    path: str
    occasion: str = ""


@transaction.atomic
def tell_firm(*, news: News, to: Collection[int] | None = None, by: int | None = None) -> None:
    """Tell people of the firm. to: the ids of those it concerns, None for all; by: who did it."""
    least = TERMS[news.kind].least_role
    assert least is not None  # such kinds alone are for people of the firm
    members = Membership.objects.filter(
        organisation=news.organisation, role__gte=least, user__is_active=True
    ).exclude(user=by)
    if to is not None:
        members = members.filter(user__in=to)
    rows = members.values_list("user", "role", "user__language")
    _store(news, {user: Reader(role, language) for user, role, language in rows}, None, least)


@transaction.atomic
def tell_owner(*, news: News, owner: Owner, to: Collection[int] | None = None, by: int | None = None) -> None:
    """Tell who reads for an owner. to: the ids of those it concerns, None for all; by: who did it."""
    people = OwnerPerson.objects.filter(owner=owner, user__is_active=True).exclude(user=by)
    if to is not None:
        people = people.filter(user__in=to)
    rows = people.values_list("user", "user__language")
    readers = {user: Reader(Role.OWNER, language or owner.reads) for user, language in rows}
    _store(news, readers, owner, Role.OWNER)


class Reader(NamedTuple):
    """Somebody who is told. language: empty where they chose none."""

    role: int
    language: str


def _store(news: News, readers: Mapping[int, Reader], owner: Owner | None, least: Role) -> None:
    if not readers:
        return
    ways = _ways(news, {user: reader.role for user, reader in readers.items()})
    texts = {tongue: _said(news, tongue) for tongue in {reader.language for reader in readers.values()}}
    rows = (
        _notice(news, user, texts[readers[user].language], way, owner, least)
        for user, way in ways.items()
        if way.reaches
    )
    Notice.objects.bulk_create(rows, batch_size=AT_ONCE, ignore_conflicts=True)


def _said(news: News, language: str) -> str:
    """The sentence as it is stored, in a language; empty stands for the firm's."""
    if isinstance(news.text, str):
        return in_one_line(news.text)
    with translation.override(language or news.organisation.language):
        return in_one_line(news.text())


def _notice(news: News, user: int, text: str, way: Way, owner: Owner | None, least: Role) -> Notice:
    return Notice(
        user_id=user,
        organisation=news.organisation,
        owner=owner,
        kind=news.kind.value,
        least_role=least,
        about_model=news.about._meta.label,
        about_id=news.about.pk,
        occasion=news.occasion,
        text=text,
        path=news.path,
        in_app=way.in_app,
        by_mail=way.by_mail,
    )


@transaction.atomic
def note_known(*, news: News, person: int) -> None:
    """Note that somebody of the firm knows it, having done it: it reaches them no way; what follows does."""
    least = TERMS[news.kind].least_role
    assert least is not None  # such kinds alone are for people of the firm
    known = _notice(news, person, _said(news, ""), Way(in_app=False, by_mail=False), None, least)
    known.read_at = now()
    Notice.objects.bulk_create([known], ignore_conflicts=True)


def in_one_line(text: str) -> str:
    """A sentence as it is stored: names that people typed break no line and fit the column."""
    line = re.sub(r"[ \t\r\n\x00]+", " ", text).strip()
    return line if len(line) <= 400 else f"{line[:399]}…"


def _ways(news: News, roles: Mapping[int, int]) -> dict[int, Way]:
    """How it reaches each: as they chose, else as usual for their role; no mail where they want none at all."""
    mine: dict[str, Any] = {"user__in": roles, "organisation": news.organisation}
    silent = set(NoticeSettings.objects.filter(**mine, mail_on=False).values_list("user", flat=True))
    chosen = NoticeChoice.objects.filter(
        settings__user__in=roles, settings__organisation=news.organisation, kind=news.kind
    )
    ways = {user: TERMS[news.kind].usual(role) for user, role in roles.items()}
    ways |= {
        user: Way(app, mail) for user, app, mail in chosen.values_list("settings__user", "in_app", "by_mail")
    }
    return {user: Way(way.in_app, way.by_mail and user not in silent) for user, way in ways.items()}


@transaction.atomic
def mark_read(*, notice: Notice) -> None:
    """Note that somebody opened it; the first time counts."""
    Notice.objects.filter(pk=notice.pk, read_at=None).update(read_at=now())


@transaction.atomic
def mark_all_read(*, user: User, organisation: Organisation) -> int:
    """Mark everything read that somebody was told in the app by a firm; returns how many."""
    return Notice.objects.in_app().unread().filter(user=user, organisation=organisation).update(read_at=now())


@transaction.atomic
def forget(*, user: User, organisation: Organisation, owners: Iterable[Owner | None]) -> None:
    """Take away what somebody was told as one of the firm (None) or of an owner, once they are that no longer."""
    for owner in owners:
        Notice.objects.filter(user=user, organisation=organisation, owner=owner).delete()
    works = Membership.objects.filter(user=user, organisation=organisation).exists()
    if not works and not OwnerPerson.objects.filter(user=user, owner__organisation=organisation).exists():
        NoticeSettings.objects.filter(user=user, organisation=organisation).delete()
        # With the mails go the links in them, by which a stranger by now would choose for whoever comes back.
        DigestMail.objects.filter(user=user, organisation=organisation).delete()


def last_occasions(*, kind: NoticeKind, about_id: UUID) -> dict[int, tuple[int, str]]:
    """For each person who was told of a row, how often, and the occasion told last."""
    rows = Notice.objects.filter(kind=kind, about_id=about_id).order_by("created_at", "occasion")
    found: dict[int, tuple[int, str]] = {}
    for user, occasion in rows.values_list("user", "occasion"):
        found[user] = (found.get(user, (0, ""))[0] + 1, occasion)
    return found
