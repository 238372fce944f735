"""The checks of a layer in one entry: a row for each, and none of them twice."""

import pytest
from django.urls import reverse

from core.forms.parts import KeepAnyway
from qa.forms.stage import READING_TOO, RowForm
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


def send_layer(client, firm, checks, **other):
    client.force_login(firm.technician)
    path = reverse("qa:stage-record", args=[checks[0].pk])
    return put(client, ENTRY, meta_of(firm.technician, path, fields_of(checks) | other))


def test_what_is_wrong_with_a_check_is_told_under_the_name_it_was_sent(client, firm, checks):
    one = f"{checks[1].pk}-0"

    answer = send_layer(client, firm, checks[:2], **{f"{one}-reading": "", f"{one}-note": "Wet."})

    assert answer.status_code == 422
    told = {error["field"]: error["text"] for error in answer.json()["errors"]}
    assert told[f"{one}-reading"] == READING_TOO
    assert f"{checks[0].pk}-0-reading" not in told


def test_what_a_check_asks_for_is_told_under_the_name_of_its_tick(client, firm, checks, monkeypatch):
    def clean(self):
        self.fields["keep_anyway"] = KeepAnyway("Keep it all the same")
        self.add_error("keep_anyway", "Far from the others.")
        return self.cleaned_data

    monkeypatch.setattr(RowForm, "clean", clean)

    answer = send_layer(client, firm, checks[:1])

    assert answer.json()["asks"] == [f"{checks[0].pk}-0-keep_anyway"]


def test_a_check_that_is_not_as_asked_is_told_as_a_warning_each_time_it_is_sent(client, firm, checks):
    reading = {f"{checks[0].pk}-0-reading": "no"}

    first, again = (send_layer(client, firm, checks[:1], **reading).json() for _ in range(2))

    assert first["warnings"] == ["Not as asked: Check 0."]
    assert len(first["notes"]) == 2
    assert set(first["warnings"]) < set(first["notes"])
    assert again == first
