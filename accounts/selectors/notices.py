"""What a person was told and chose to be told, by the firms they belong to or read for."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db.models import Count, QuerySet

from accounts.calc.notices import NoticeKind, Way, kinds_for, usual_way
from accounts.calc.roles import Role
from accounts.models import (
    DigestMail,
    Membership,
    Notice,
    NoticeChoice,
    NoticeSettings,
    Organisation,
    OwnerPerson,
    User,
)
from core.calc.secrets import hash_of


@dataclass(frozen=True, slots=True)
class NoticePlace:
    """A firm that tells somebody something, the roles for which it does, and how much of it they have not read."""

    organisation: Organisation
    roles: tuple[int, ...]
    unread: int = 0


def unread_count(user: User) -> int:
    """How much somebody has not read, of every firm: one query."""
    return Notice.objects.told_to(user).in_app().unread().count()


def notice_places(user: User) -> list[NoticePlace]:
    """Every firm of a person, where they work first: three queries."""
    roles: dict[Organisation, list[int]] = {}
    for member in Membership.objects.filter(user=user).select_related("organisation"):
        roles.setdefault(member.organisation, []).append(member.role)
    for reader in OwnerPerson.objects.filter(user=user).select_related("owner__organisation"):
        held = roles.setdefault(reader.owner.organisation, [])
        if Role.OWNER not in held:
            held.append(Role.OWNER)
    unread = Notice.objects.told_to(user).in_app().unread().order_by()
    counts = dict(unread.values("organisation").annotate(n=Count("pk")).values_list("organisation", "n"))
    return [NoticePlace(firm, tuple(held), counts.get(firm.pk, 0)) for firm, held in roles.items()]


def place_chosen(
    places: Sequence[NoticePlace], asked: str, acting_for: Organisation | None
) -> NoticePlace | None:
    """The firm that the address names, else the one acted for, else the first; None for who belongs to none."""
    named = (place for place in places if str(place.organisation.pk) == asked)
    here = (place for place in places if place.organisation == acting_for)
    return next(named, None) or next(here, None) or next(iter(places), None)


def notices_of(user: User, organisation: Organisation) -> QuerySet[Notice]:
    """What a firm told somebody, the newest first."""
    return Notice.objects.told_to(user).in_app().filter(organisation=organisation).select_related("owner")


def notice_of(user: User, pk: UUID) -> Notice | None:
    """One notice of a person, read on a page or in a mail; None for what is not theirs."""
    return Notice.objects.told_to(user).select_related("organisation", "owner").filter(pk=pk).first()


def may_still_see(user: User, notice: Notice) -> bool:
    """Whether the row that a notice tells of is there, and its reader may see it."""
    known: dict[str, Any] = {model._meta.label: model for model in apps.get_models()}
    model = known.get(notice.about_model)
    return model is not None and bool(model.objects.for_user(user).filter(pk=notice.about_id).exists())


@dataclass(frozen=True, slots=True)
class Chosen:
    """How somebody is told by a firm: each kind they can get, and when the daily mail comes."""

    settings: NoticeSettings
    ways: dict[NoticeKind, Way]


def chosen_at(user: User, place: NoticePlace) -> Chosen:
    """As they chose, else as usual for their roles: two queries."""
    mine = {"user": user, "organisation": place.organisation}
    settings = NoticeSettings.objects.filter(**mine).first() or NoticeSettings(**mine)
    stored = NoticeChoice.objects.filter(settings=settings.pk)
    ways = {kind: usual_way(kind, place.roles) for kind in kinds_for(place.roles)}
    for row in stored:
        kind = NoticeKind(row.kind)
        if kind in ways:
            ways[kind] = Way(row.in_app, row.by_mail)
    return Chosen(settings, ways)


def digest_of(secret: str) -> DigestMail | None:
    """The daily mail that holds a secret; None for none."""
    return DigestMail.objects.select_related("user", "organisation").filter(stop_hash=hash_of(secret)).first()
