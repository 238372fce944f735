"""The checks of a layer in one entry: a row for each, and none of them twice."""

import pytest
from django.urls import reverse

from qa.models import CheckEntry
from tests.factories import ConstructionCheckFactory, ConstructionRecordFactory
from tests.fieldwork.sendings import meta_of, put

pytestmark = pytest.mark.django_db

ENTRY = "0f0f0f0f-1111-4222-8333-444444444444"


@pytest.fixture
def checks(firm):
    record = ConstructionRecordFactory(surface=firm.surface)
    return [ConstructionCheckFactory(record=record, asked=f"Check {number}.") for number in range(3)]


def fields_of(checks):
    given = {f"{check.pk}-0-reading": "yes" for check in checks}
    return {"done_on": "2024-07-02"} | given | {f"{check.pk}-0-device_id": "" for check in checks}


def test_what_was_filled_in_is_stored_once_however_often_it_arrives(client, firm, checks):
    client.force_login(firm.technician)
    meta = meta_of(firm.technician, reverse("qa:stage-record", args=[checks[0].pk]), fields_of(checks[:2]))

    first, second = (put(client, ENTRY, meta) for _ in range(2))

    assert (first.status_code, second.json()) == (200, first.json())
    assert {entry.construction_check for entry in CheckEntry.objects.all()} == set(checks[:2])
    assert len({entry.device_id for entry in CheckEntry.objects.all()}) == 2


def test_one_refusal_stores_none_of_them(client, firm, checks):
    client.force_login(firm.technician)
    fields = fields_of(checks[:2]) | {"done_on": "2099-01-01"}
    answer = put(
        client, ENTRY, meta_of(firm.technician, reverse("qa:stage-record", args=[checks[0].pk]), fields)
    )

    assert answer.status_code == 422
    assert not CheckEntry.objects.exists()
