"""Addresses at which calendar programs read visits: made, made anew, revoked."""

from typing import NamedTuple

from django.db import transaction
from django.db.models import F
from django.utils.timezone import now

from accounts.models import Membership, OwnerPerson, User
from core.calc.devices import DeviceKind
from core.calc.secrets import hash_of, new_secret
from core.models.rows import validate_and_save
from planning.models import CalendarFeed, Crew

Whose = Crew | Membership | OwnerPerson


class MadeFeed(NamedTuple):
    """An address with its secret, which nobody can learn again once it was shown."""

    feed: CalendarFeed
    secret: str


@transaction.atomic
def make_feed(*, whose: Whose, by: User) -> MadeFeed:
    """Give a crew, somebody of the firm or an owner's person an address; the one they had ends."""
    type(whose).objects.select_for_update().get(pk=whose.pk)  # type: ignore[attr-defined]  # two at once queue here
    revoke_feed(whose=whose)
    secret = new_secret()
    feed = CalendarFeed(secret_hash=hash_of(secret), made_at=now(), made_by=by, **_column(whose))
    validate_and_save(feed)
    return MadeFeed(feed, secret)


@transaction.atomic
def revoke_feed(*, whose: Whose) -> bool:
    """End an address; False where there is none."""
    rows = CalendarFeed.objects.filter(**_column(whose))
    return bool(rows.select_for_update().delete()[0])


@transaction.atomic
def note_read(*, feed: CalendarFeed, device: DeviceKind) -> None:
    """Count that somebody's program read it, now, with a kind of device."""
    minute = now().replace(second=0, microsecond=0)
    noted = {"last_read_at": minute, "last_read_by": device.value, "times_read": F("times_read") + 1}
    CalendarFeed.objects.filter(pk=feed.pk).update(**noted)


def _column(whose: Whose) -> dict[str, object]:
    if isinstance(whose, Crew):
        return {"crew": whose, "organisation": whose.organisation}
    if isinstance(whose, Membership):
        return {"member": whose, "organisation": whose.organisation}
    return {"reader": whose, "organisation": whose.owner.organisation}
