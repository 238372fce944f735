"""Keeping documents as they were, and taking one back."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from core.errors import AlreadyDoneError
from maintenance.services import forecasts
from reporting.calc.snapshots import ReportSnapshot
from reporting.models import Snapshot
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.kept import thaw
from reporting.selectors.sites import report_snapshot
from reporting.services import kept
from tests.clock import TODAY
from tests.factories import CleaningFactory, InfiltrationTestFactory, OwnerFactory, RoundFactory

SINCE = TODAY - timedelta(days=365)


def keep_report(firm, audience=Audience.OWNER, **fields):
    return kept.freeze_report(site=firm.site, audience=audience, since=SINCE, by=firm.coordinator, **fields)


def keep_handover(firm, audience=Audience.OWNER, **fields):
    return kept.freeze_handover(surface=firm.surface, audience=audience, by=firm.coordinator, **fields)


def change(firm):
    """Change whatever a document could show."""
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, purpose="acceptance", tested_on=TODAY))
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY)
    firm.surface.name, firm.surface.limit_mm_h, firm.surface.area_m2 = "Renamed", 777.0, 12.0
    firm.surface.save()
    firm.site.name = "Sold Yard"
    firm.site.save()
    forecasts.refresh(firm.surface.pk)


def test_a_kept_report_says_what_the_record_said_however_it_changes(firm):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    forecasts.refresh(firm.surface.pk)
    firm.surface.refresh_from_db()
    before = report_snapshot(firm.site, Audience.OWNER, since=SINCE)
    row = keep_report(firm)

    change(firm)

    assert thaw(Snapshot.objects.get(pk=row.pk)) == before
    firm.site.refresh_from_db()
    assert report_snapshot(firm.site, Audience.OWNER, since=SINCE) != before


def test_a_kept_handover_record_says_what_the_record_said_however_it_changes(firm):
    before = handover_snapshot(firm.surface, Audience.OWNER)
    row = keep_handover(firm)

    change(firm)

    assert thaw(Snapshot.objects.get(pk=row.pk)) == before
    assert handover_snapshot(firm.surface, Audience.OWNER) != before


def test_what_is_kept_says_whose_it_is_who_kept_it_and_when(firm):
    row = keep_report(firm, Audience.FIRM)

    assert (row.organisation, row.owner, row.site, row.surface) == (
        firm.organisation,
        firm.owner,
        firm.site,
        None,
    )
    assert (row.recorded_by, row.audience, row.kind) == (firm.coordinator, "firm", "report")
    assert (row.since, row.until, row.payload["schema"]) == (SINCE, TODAY, ReportSnapshot.SCHEMA)
    assert str(row).startswith(f"Report of {firm.site.name}, ")
    assert thaw(row).audience is Audience.FIRM


def test_keeping_twice_with_one_device_id_keeps_one(firm):
    key = uuid4()

    first, second = keep_report(firm, device_id=key), keep_report(firm, device_id=key)

    assert first == second
    assert Snapshot.objects.count() == 1


def test_a_report_of_the_future_is_refused_with_the_day(firm):
    with pytest.raises(ValidationError, match="is in the future at the site"):
        kept.freeze_report(
            site=firm.site, audience=Audience.OWNER, since=TODAY + timedelta(days=1), by=firm.coordinator
        )

    assert not Snapshot.objects.exists()


def test_withdrawing_keeps_the_document_for_the_firm_alone(firm):
    row = keep_handover(firm)

    kept.withdraw(document=row, by=firm.coordinator, reason="Wrong surface.")

    assert list(Snapshot.objects.for_user(firm.viewer)) == [row]
    assert not Snapshot.objects.for_user(firm.owner_person).exists()
    assert row.state_reason == "Wrong surface."


def test_withdrawing_asks_why_and_happens_once(firm):
    row = keep_handover(firm)
    with pytest.raises(ValidationError, match="Say why"):
        kept.withdraw(document=row, by=firm.coordinator, reason=" ")
    kept.withdraw(document=row, by=firm.coordinator, reason="Wrong surface.")

    with pytest.raises(AlreadyDoneError, match="already set aside"):
        kept.withdraw(document=row, by=firm.coordinator, reason="Again.")


def test_an_owners_people_read_only_what_was_made_for_the_owner(firm):
    rows = {audience: keep_report(firm, audience) for audience in Audience}

    assert list(Snapshot.objects.for_user(firm.owner_person)) == [rows[Audience.OWNER]]
    assert set(Snapshot.objects.for_user(firm.viewer)) == set(rows.values())
    assert not Snapshot.objects.for_user(firm.outsider).exists()
    assert not Snapshot.objects.for_user(firm.owner_person, Role.VIEWER).exists()
    assert not Snapshot.objects.for_user(firm.viewer, Role.COORDINATOR).exists()


def test_a_site_that_is_sold_does_not_take_what_was_kept_for_the_last_owner_along(firm):
    row = keep_report(firm)
    firm.site.owner = OwnerFactory(organisation=firm.organisation)
    firm.site.save()

    assert list(Snapshot.objects.for_user(firm.owner_person)) == [row]


def test_the_database_refuses_a_report_of_a_surface(firm):
    row = keep_handover(firm)

    with pytest.raises(IntegrityError), transaction.atomic():
        Snapshot.objects.filter(pk=row.pk).update(kind="report")
