"""Keeping documents as they are today, and withdrawing one that was kept by mistake."""

from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.calc.audience import Audience
from accounts.models import User
from core.calc.format import day
from core.services.records import find_by_device_id, save_idempotent, void_record
from qa.models import Site, Surface
from qa.services.register import EARLIEST_OPENING
from reporting.calc.schemas import Kept
from reporting.calc.snapshots import SnapshotKind
from reporting.models import Snapshot
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.sites import report_snapshot

EARLIEST = EARLIEST_OPENING  # nothing is on record from before the first surface could open
TOO_EARLY = gettext_noop(
    "%(day)s is too long ago. Give %(earliest)s or a later day as the first that the report should cover."
)
FUTURE = gettext_noop(
    "%(day)s is in the future at the site. Give the first day that the report should cover."
)


@transaction.atomic
def freeze_report(
    *, site: Site, audience: Audience, since: date, by: User | None, device_id: UUID | None = None
) -> Snapshot:
    """Keep a site's report from that day until today. A repeat with the same device id gives the first row.

    by: None where it is made by itself. Raises ValidationError for a day to come or before EARLIEST.
    """
    if since > site.today():
        raise ValidationError({"since": ValidationError(_(FUTURE), params={"day": day(since)})})
    if since < EARLIEST:
        params = {"day": day(since), "earliest": day(EARLIEST)}
        raise ValidationError({"since": ValidationError(_(TOO_EARLY), params=params)})
    row = Snapshot(kind=SnapshotKind.REPORT, site=site, since=since, audience=audience, device_id=device_id)
    row.language = language_for(site, audience, by)
    with override(row.language):
        row.title = _("Report of {site}, {since} to {until}").format(
            site=site.name, since=day(since), until=day(site.today())
        )
        first = find_by_device_id(row, site=site)
        return first or _freeze(row, report_snapshot(site, audience, since=since), by)


@transaction.atomic
def freeze_handover(
    *, surface: Surface, audience: Audience, by: User, device_id: UUID | None = None
) -> Snapshot:
    """Keep a surface's handover record. A repeat with the same device id gives the first row."""
    site = surface.site
    row = Snapshot(
        kind=SnapshotKind.HANDOVER, site=site, surface=surface, audience=audience, device_id=device_id
    )
    row.language = language_for(site, audience, by)
    with override(row.language):
        row.title = _("Handover record of {surface}, {site}, {day}").format(
            surface=surface.name, site=site.name, day=day(site.today())
        )
        return find_by_device_id(row, site=site) or _freeze(row, handover_snapshot(surface, audience), by)


def language_for(site: Site, audience: Audience, by: User | None) -> str:
    """What a document of a site is written in: the owner's language, or that of whoever of the firm keeps it for it."""
    firm = site.organisation
    if audience is Audience.FIRM:
        return (by.language if by else "") or firm.language
    return site.owner.reads


def _freeze(row: Snapshot, snapshot: Kept, by: User | None) -> Snapshot:
    row.organisation, row.owner = row.site.organisation, row.site.owner
    row.until, row.recorded_by = snapshot.made_on, by
    row.payload = snapshot.to_json()
    return save_idempotent(row, site=row.site_id)


@transaction.atomic
def withdraw(*, document: Snapshot, by: User, reason: str) -> Snapshot:
    """Take a kept document back from who it was made for; the firm still reads it. Raises ValidationError."""
    return void_record(fact=document, by=by, reason=reason)
