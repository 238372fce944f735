"""Secret links: made, given an address, revoked, and what is noted when they are opened."""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.audience import Audience
from accounts.models import Organisation, User
from core.calc.devices import DeviceKind
from core.calc.format import day
from core.calc.secrets import hash_of, new_secret
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services.records import find_by_device_id, save_once
from qa.models import Site
from qa.selectors.days import firm_today, firm_zone
from reporting.calc.sharing import MOST_DAYS, MOST_SITES, USUAL_DAYS, LinkPart, LinkState, last_day_at_most
from reporting.models import LinkOpening, SharedLink, SharedSite, Snapshot

FOR_THE_FIRM = gettext_noop(
    "It was kept for people of the firm. Keep one for its owner or for whoever is given a link."
)
WITHDRAWN = gettext_noop("This document was withdrawn. Keep another one and share that.")
TOO_SOON = gettext_noop("%(day)s is over. Give today or a later day.")
TOO_LATE = gettext_noop(
    "%(day)s is more than %(most)d days from now. Give an earlier day; a new link can be made then."
)
AHEAD = gettext_noop("%(day)s is still to come. Give the first day of the tests and works it should show.")
NO_SITE = gettext_noop("Choose at least one site.")
TOO_MANY = gettext_noop(
    "%(sites)d sites are too many for one page. Choose at most %(most)d, and make a link for each part."
)
TAKEN = gettext_noop(
    "Somebody took the address of its link and passes it on, and a mail would end that address."
)
ENDED = gettext_noop("This link has ended: %(why)s. Make another one.")


@transaction.atomic
def share_document(*, link: SharedLink, document: Snapshot, by: User | None) -> SharedLink:
    """Make a link to a kept document. Raises NotAllowedNowError for one that strangers may not read."""
    check_shareable(document)
    link.document, link.organisation = document, document.organisation
    return _store(link, by)


def check_shareable(document: Snapshot) -> None:
    """Raise NotAllowedNowError for a document that was made for the firm alone, or withdrawn."""
    if document.audience == Audience.FIRM:
        raise NotAllowedNowError(_(FOR_THE_FIRM))
    if not document.is_active:
        raise NotAllowedNowError(_(WITHDRAWN))


@transaction.atomic
def share_sites(
    *, link: SharedLink, organisation: Organisation, sites: Iterable[Site], by: User
) -> SharedLink:
    """Make a link to the tests and works of some sites. Raises ValidationError."""
    link.organisation, chosen = organisation, list(sites)
    if not chosen:
        raise ValidationError({"sites": _(NO_SITE)})
    if len(chosen) > MOST_SITES:
        params = {"sites": len(chosen), "most": MOST_SITES}
        raise ValidationError({"sites": ValidationError(_(TOO_MANY), params=params)})
    if link.since is not None and link.since > firm_today(organisation):
        raise ValidationError({"since": ValidationError(_(AHEAD), params={"day": day(link.since)})})
    first = find_by_device_id(link, organisation=organisation)
    if first is not None:
        return first
    stored = _store(link, by)
    SharedSite.objects.bulk_create(
        [SharedSite(link=stored, site=site, owner_id=site.owner_id) for site in chosen], ignore_conflicts=True
    )
    return stored


def _store(link: SharedLink, by: User | None) -> SharedLink:
    zone = firm_zone(link.organisation)
    check_last_day(link.ends_on, now().astimezone(zone).date())
    link.expires_at = datetime.combine(link.ends_on + timedelta(days=1), time(), zone)
    link.made_by = by
    return save_once(link, organisation=link.organisation_id)


def usual_last_day(organisation: Organisation) -> date:
    """Until when a link opens unless somebody chooses another day."""
    return firm_today(organisation) + timedelta(days=USUAL_DAYS)


def check_last_day(ends_on: date, today: date) -> None:
    """Raise ValidationError for a day that is over or too far ahead."""
    if ends_on < today:
        raise ValidationError({"ends_on": ValidationError(_(TOO_SOON), params={"day": day(ends_on)})})
    if ends_on > last_day_at_most(today):
        params = {"day": day(ends_on), "most": MOST_DAYS}
        raise ValidationError({"ends_on": ValidationError(_(TOO_LATE), params=params)})


@transaction.atomic
def make_address(*, link: SharedLink, to: User | None) -> str:
    """Give the link a secret, which nobody can learn again once it was shown; the one it had ends.

    to: who is shown it; None where it is mailed. Raises NotAllowedNowError for a link that opens no more, and for
    mailing one whose address somebody took to pass it on.
    """
    link = SharedLink.objects.select_for_update(of=("self",)).select_related("document").get(pk=link.pk)
    state, secret = link.state_at(now()), new_secret()
    if state not in (LinkState.OPEN, LinkState.UNSEEN):
        raise NotAllowedNowError(_(ENDED) % {"why": state.in_sentence})
    if to is None and link.shown_to_id is not None:
        raise NotAllowedNowError(_(TAKEN))
    link.secret_hash, link.address_made_at, link.shown_to = hash_of(secret), now(), to
    link.save(update_fields=["secret_hash", "address_made_at", "shown_to"])
    return secret


@transaction.atomic
def revoke_link(*, link: SharedLink, by: User) -> SharedLink:
    """End a link for good. Raises AlreadyDoneError for one that somebody ended before."""
    won = SharedLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=now(), revoked_by=by)
    if not won:
        raise AlreadyDoneError(_("This link was revoked before."))
    link.refresh_from_db()
    return link


@transaction.atomic
def note_opening(*, link_id: UUID, part: LinkPart, device: DeviceKind = DeviceKind.UNKNOWN) -> None:
    """Count that something of a link was opened on a kind of device, in the row of this minute."""
    minute = now().replace(second=0, microsecond=0)
    row, made = LinkOpening.objects.get_or_create(
        link_id=link_id, part=part, opened_at=minute, device=device.value
    )
    if not made:
        LinkOpening.objects.filter(pk=row.pk).update(times=F("times") + 1)
