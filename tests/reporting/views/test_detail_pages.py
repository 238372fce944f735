"""Pages about one thing stay cheap however much is recorded of it."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from qa.models import ConstructionRecord
from qa.services import assembly
from tests.factories import (
    AttachmentFactory,
    CheckEntryFactory,
    CleaningFactory,
    InfiltrationTestFactory,
    LayerFactory,
    LocationFactory,
    RoundFactory,
    SievingFactory,
)

OF_SURFACE = (
    "reporting:surface-detail",
    "reporting:handover-show",
    "qa:construction-detail",
    "qa:gradation-detail",
    "qa:water-detail",
    "qa:plan-edit",
    "qa:layer-edit",
    "qa:location-edit",
)


@pytest.fixture
def recorded(firm):
    """A surface with a round and an open construction record, and the addresses of its pages."""
    surface = firm.surface
    round_ = RoundFactory(surface=surface, purpose="acceptance")
    record = ConstructionRecord(surface=surface)
    assembly.open_record(record=record, parts=["base"], by=firm.admin)
    check = record.checks.first()
    pages = [reverse(name, args=[surface.pk]) for name in OF_SURFACE]
    return round_, check, [*pages, round_.get_absolute_url(), check.get_absolute_url()]


def record_more(firm, round_, check):
    by, surface = firm.technician, firm.surface
    InfiltrationTestFactory(round=round_, location=LocationFactory(surface=surface), recorded_by=by)
    SievingFactory(surface=surface, layer=LayerFactory(surface=surface), recorded_by=by)
    CleaningFactory(surface=surface, recorded_by=by)
    CheckEntryFactory(construction_check=check, recorded_by=by)
    AttachmentFactory(surface=surface, recorded_by=by)


def queries_of(client, pages):
    counts = {}
    for page in pages:
        with CaptureQueriesContext(connection) as asked:
            assert client.get(page).status_code == 200
        counts[page] = len(asked)
    return counts


def test_a_page_asks_the_database_as_often_for_much_as_for_little(client, firm, recorded):
    round_, check, pages = recorded
    client.force_login(firm.coordinator)
    for _ in range(2):
        record_more(firm, round_, check)
    queries_of(client, pages)  # opening a page notes it as the last opened, once
    few = queries_of(client, pages)
    for _ in range(8):
        record_more(firm, round_, check)

    many = queries_of(client, pages)

    assert many == few
