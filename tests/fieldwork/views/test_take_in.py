"""The copy of what a phone holds, taken in by the office."""

import base64
import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils.timezone import now

from fieldwork.forms import take_in as form
from fieldwork.models import FieldEntry
from fieldwork.views import taking_in
from qa.models import Attachment, InfiltrationTest, TestRound
from tests.fieldwork.factories import PhoneFactory
from tests.fieldwork.sendings import DEVICE, meta_of, put
from tests.qa.views.test_field_methods import RING
from tests.test_sent_twice import DAY, PDF

URL = reverse("fieldwork:phone-take-in")
ROUND = {"tested_on": DAY, "purpose": "routine"}
TEST = RING | {"spot": "gate"}


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


def round_of(firm, entry=None, by=None, **other):
    path = reverse("qa:round-create", args=[firm.surface.pk])
    return {
        "id": str(entry or uuid4()),
        "meta": meta_of(by or firm.technician, path, ROUND, **other),
        "files": [],
    }


def test_of(firm, round_entry, **other):
    path = f"/rounds/{{entry:{round_entry}}}/tests/new/?method=ring"
    return {"id": str(uuid4()), "meta": meta_of(firm.technician, path, TEST, **other), "files": []}


test_of.__test__ = False


def photo_of(firm, round_entry, name, content=PDF):
    path = f"/rounds/{{entry:{round_entry}}}/files/new/"
    photo = {"field": "photos", "name": name, "type": "application/pdf"}
    photo["base64"] = base64.b64encode(content).decode()
    return {"id": str(uuid4()), "meta": meta_of(firm.technician, path, {}), "files": [photo]}


def copy_of(firm, *entries, **other):
    return {
        "format": "rainthrough field entries",
        "schema": 1,
        "device": DEVICE,
        "person": str(firm.technician.pk),
        "saved_at": now().isoformat(),
        "entries": list(entries),
    } | other


def take_in(client, copy):
    content = copy if isinstance(copy, bytes) else json.dumps(copy).encode()
    answer = client.post(URL, {"file": SimpleUploadedFile("copy.json", content, "application/json")})
    assert answer.status_code == 200
    return answer


def states_of(answer):
    return [line.state for line in answer.context["lines"]]


def test_each_entry_is_stored_with_who_made_it_and_who_took_it_in(office, firm):
    taken = take_in(office, copy_of(firm, round_of(firm, title="Round at the yard")))

    entry = FieldEntry.objects.get()
    row = TestRound.objects.get(pk=entry.row_pk)
    assert states_of(taken) == ["Stored"]
    assert (entry.person, entry.taken_in_by) == (firm.technician, firm.coordinator)
    assert row.recorded_by == firm.coordinator
    text = taken.content.decode()
    assert row.get_absolute_url() in text
    assert "Round at the yard" in text
    assert f"Recorded by {firm.technician}" in text


def test_taken_in_twice_nothing_is_stored_twice(office, firm):
    copy = copy_of(firm, round_of(firm))
    take_in(office, copy)

    again = take_in(office, copy)

    assert states_of(again) == ["Was there already"]
    assert TestRound.objects.count() == 1


def test_the_phone_that_sends_it_later_gets_the_stored_answer(office, firm):
    entry = round_of(firm)
    take_in(office, copy_of(firm, entry))
    office.force_login(firm.technician)

    answer = put(office, entry["id"], entry["meta"])

    assert (answer.status_code, answer.json()["pk"]) == (200, FieldEntry.objects.get().row_pk)
    assert TestRound.objects.count() == 1


def test_what_the_phone_has_sent_meanwhile_was_there_already(office, firm):
    entry = round_of(firm)
    office.force_login(firm.technician)
    put(office, entry["id"], entry["meta"])
    office.force_login(firm.coordinator)

    assert states_of(take_in(office, copy_of(firm, entry))) == ["Was there already"]


def test_a_round_is_stored_before_its_tests_wherever_it_stands_in_the_file(office, firm):
    round_ = uuid4()

    taken = take_in(office, copy_of(firm, test_of(firm, round_), round_of(firm, round_)))

    assert states_of(taken) == ["Stored", "Stored"]
    assert InfiltrationTest.objects.get().round == TestRound.objects.get()


def test_photos_are_taken_in_too(office, firm):
    round_ = uuid4()

    taken = take_in(office, copy_of(firm, round_of(firm, round_), photo_of(firm, round_, "plan.pdf")))

    assert states_of(taken) == ["Stored", "Stored"]
    assert Attachment.objects.get().content.read() == PDF


@pytest.mark.parametrize(
    ("name", "as_sent"), [('a"b.pdf', "a%22b.pdf"), ("Rain &amp; mud.pdf", "Rain &amp; mud.pdf")]
)
def test_a_photo_whose_name_is_sent_in_another_way_is_the_same_entry(office, firm, name, as_sent):
    round_ = uuid4()
    attaching = photo_of(firm, round_, name)
    take_in(office, copy_of(firm, round_of(firm, round_), attaching))
    office.force_login(firm.technician)

    sent = {"photos": SimpleUploadedFile(as_sent, PDF, "application/pdf")}
    answer = put(office, attaching["id"], attaching["meta"], sent)

    assert (answer.status_code, answer.json().get("pk")) == (200, str(Attachment.objects.get().pk))


def test_a_file_that_is_left_out_is_told_beside_what_is_stored(office, firm):
    round_ = uuid4()
    spoilt = (
        photo_of(firm, round_, "note.pdf")["files"] + photo_of(firm, round_, "note.txt", b"no photo")["files"]
    )
    attaching = photo_of(firm, round_, "plan.pdf") | {"files": spoilt}

    taken = take_in(office, copy_of(firm, round_of(firm, round_), attaching))

    assert states_of(taken) == ["Stored", "Stored"]
    assert "Stored without this file" in " ".join(taken.context["lines"][1].reasons)


def test_a_file_without_a_usable_name_holds_up_no_other_entry(office, firm):
    round_ = uuid4()

    taken = take_in(
        office, copy_of(firm, round_of(firm, round_), photo_of(firm, round_, ".."), round_of(firm))
    )

    assert sorted(states_of(taken)) == ["Refused", "Stored", "Stored"]
    assert "cannot be read" in taken.content.decode()


@pytest.mark.parametrize("where", ["_files_of", "record"])
def test_where_the_program_fails_on_one_entry_the_others_go_on(office, firm, monkeypatch, caplog, where):
    as_it_is, calls = getattr(taking_in, where), []

    def fail_once(*given):
        calls.append(given)
        if len(calls) == 1:
            raise RuntimeError("fault")
        return as_it_is(*given)

    monkeypatch.setattr(taking_in, where, fail_once)

    taken = take_in(office, copy_of(firm, round_of(firm, title="First"), round_of(firm)))

    assert states_of(taken) == ["Refused", "Stored"]
    assert "The server failed on this one" in taken.content.decode()
    assert "RuntimeError: fault" in caplog.text


def test_an_entry_that_cannot_be_stored_says_why_and_holds_up_no_other(office, firm):
    bad_day = round_of(firm)
    bad_day["meta"]["fields"] = [["tested_on", "someday"], ["purpose", "routine"]]
    damaged = {"id": "x", "meta": {}}

    taken = take_in(office, copy_of(firm, damaged, bad_day, test_of(firm, uuid4()), round_of(firm)))

    assert sorted(states_of(taken)) == ["Refused", "Refused", "Refused", "Stored"]
    text = taken.content.decode()
    assert "Tested on: Enter a valid date." in text
    assert "has not arrived yet" in text
    assert "cannot be read" in text


def test_what_somebody_recorded_who_is_not_of_the_firm_is_not_taken_in(office, firm):
    entry = round_of(firm, by=firm.outsider)

    taken = take_in(office, copy_of(firm, entry))

    assert states_of(taken) == ["Refused"]
    assert not TestRound.objects.exists()


def test_what_is_of_another_firm_is_not_stored_by_who_may_not(office, firm):
    office.force_login(firm.outsider)
    theirs = round_of(firm, by=firm.outsider)

    taken = take_in(office, copy_of(firm, theirs))

    assert states_of(taken) == ["Refused"]
    assert not TestRound.objects.exists()


def test_who_left_the_firm_is_still_known_by_their_phone(office, firm):
    PhoneFactory(organisation=firm.organisation, person=firm.technician)
    firm.technician.memberships.all().delete()

    assert states_of(take_in(office, copy_of(firm, round_of(firm)))) == ["Stored"]


def test_units_are_those_of_who_recorded_it(office, firm):
    type(firm.technician).objects.filter(pk=firm.technician.pk).update(units="us")
    entry = round_of(firm)
    entry["meta"]["fields"].append(["air_temperature_c", "68"])

    take_in(office, copy_of(firm, entry))

    assert TestRound.objects.get().air_temperature_c == pytest.approx(20.0)


def test_days_after_it_was_written_the_clock_is_not_taken_for_wrong(office, firm):
    made = now() - timedelta(days=3)

    take_in(office, copy_of(firm, round_of(firm, made_at=made, sent_at=made)))

    assert FieldEntry.objects.get().offset_s == 0


def test_how_wrong_the_clock_was_is_known_from_the_phones_last_contact(office, firm):
    ahead = timedelta(days=2)
    PhoneFactory(
        organisation=firm.organisation,
        person=firm.technician,
        device=DEVICE,
        offset_s=-ahead.total_seconds(),
        last_contact_at=now() - timedelta(hours=5),
    )
    made = now() + ahead - timedelta(hours=4)
    entry = round_of(firm, made_at=made, sent_at=made, by_clock=["tested_on"])
    entry["meta"]["fields"][0] = ["tested_on", made.date().isoformat()]

    assert states_of(take_in(office, copy_of(firm, entry))) == ["Stored"]
    assert TestRound.objects.get().tested_on == (made - ahead).date()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"not json", "This is not a copy that a phone wrote"),
        (b"{}", "This is not a copy that a phone wrote"),
        (b"\xff\xfe", "This is not a copy that a phone wrote"),
        (b'{"format": "something else"}', "This is not a copy that a phone wrote"),
    ],
)
def test_a_file_that_is_no_copy_is_refused_in_words(office, content, said):
    text = take_in(office, content).content.decode()

    assert said in text
    assert "What came of it" not in text


def test_a_copy_of_another_edition_is_refused_in_words(office, firm):
    text = take_in(office, copy_of(firm, schema=2)).content.decode()

    assert "another edition of the pages (schema 2; this server reads 1)" in text


def test_a_file_that_is_too_large_is_refused_in_words(office, firm, monkeypatch):
    monkeypatch.setattr(form, "MOST_BYTES", 100)

    assert "at most" in take_in(office, copy_of(firm)).content.decode()


def test_an_empty_copy_says_so(office, firm):
    assert "the copy is empty" in take_in(office, copy_of(firm)).content.decode()
