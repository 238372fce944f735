"""An entry on its way: stored once, refused as a whole, answered in JSON whatever happens."""

import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils.timezone import now

from core.errors import NoRoomError, NotAllowedNowError
from fieldwork.models import FieldEntry
from qa.models import Attachment, InfiltrationTest, InspectionFinding, TestRound
from qa.services import rounds
from tests.factories import RoundFactory, SurfaceFactory
from tests.fieldwork.sendings import meta_of, put, send
from tests.qa.views.test_field_methods import RING
from tests.test_sent_twice import DAY, PDF

ROUND = {"tested_on": DAY, "purpose": "routine"}
TEST = RING | {"spot": "gate"}


@pytest.fixture
def firm(furnished):
    return furnished


@pytest.fixture
def technician(client, firm):
    client.force_login(firm.technician)
    return firm.technician


def new_round(firm):
    return reverse("qa:round-create", args=[firm.surface.pk])


def new_test(round_pk):
    return reverse("qa:test-create", args=[round_pk]) + "?method=ring"


def test_the_same_entry_again_gets_the_same_answer_and_stores_nothing(client, firm, technician):
    entry, meta = uuid4(), meta_of(technician, new_round(firm), ROUND)

    first = put(client, entry, meta)
    before = TestRound.objects.count()
    again = put(client, entry, meta | {"sent_at": (now() + timedelta(minutes=5)).isoformat()})

    assert (first.status_code, again.status_code) == (200, 200)
    assert first.json() == again.json()
    assert TestRound.objects.count() == before
    assert first.json()["url"] == f"/rounds/{first.json()['pk']}/"
    assert TestRound.objects.get(pk=first.json()["pk"]).device_id, "made from the entry's own id"


def test_what_a_page_makes_anew_each_time_is_not_another_entry(client, firm, technician):
    entry, path = uuid4(), new_test(firm.rows["round"])
    made = [{"made_at": now().isoformat(), "csrfmiddlewaretoken": "1"}, {"csrfmiddlewaretoken": "2"}]

    answers = [send(client, technician, path, TEST | each, entry) for each in made]

    assert [one.status_code for one in answers] == [200, 200]


@pytest.mark.parametrize(
    "other", [{"fields": [["tested_on", "2024-07-03"], ["purpose", "routine"]]}, {"path": "?purpose=x"}]
)
def test_another_content_under_the_same_id_is_refused_and_the_first_is_told(client, firm, technician, other):
    entry, meta = uuid4(), meta_of(technician, new_round(firm), ROUND)
    stored = put(client, entry, meta).json()
    other = other | ({"path": meta["path"] + other["path"]} if "path" in other else {})
    before = TestRound.objects.count()

    answer = put(client, entry, meta | other)

    assert answer.status_code == 409
    assert (answer.json()["code"], answer.json()["url"]) == ("stored_otherwise", stored["url"])
    assert TestRound.objects.count() == before


def test_another_photo_under_the_same_id_is_another_content(client, firm, technician):
    entry = uuid4()
    path = reverse("qa:round-file-create", args=[firm.rows["round"]])
    answers = [
        send(client, technician, path, {}, entry, {"photos": SimpleUploadedFile("plan.pdf", content)})
        for content in (PDF, PDF, PDF + b"%%EOF\n")
    ]

    assert [one.status_code for one in answers] == [200, 200, 409]


def test_an_id_that_somebody_else_used_tells_nothing_of_theirs(client, firm, technician):
    entry = uuid4()
    send(client, technician, new_round(firm), ROUND, entry)
    client.force_login(firm.outsider)

    answer = send(client, firm.outsider, new_round(firm), ROUND, entry)

    assert (answer.status_code, answer.json()["url"]) == (409, "")


def test_a_refused_form_stores_nothing_and_says_field_by_field_what_is_wrong(client, firm, technician):
    before = TestRound.objects.count()

    answer = send(client, technician, new_round(firm), ROUND | {"tested_on": "someday"})

    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert (error["field"], error["label"]) == ("tested_on", "Tested on")
    assert "valid date" in error["text"]
    assert answer.json()["asks"] == []
    assert (TestRound.objects.count(), FieldEntry.objects.count()) == (before, 1)


def test_a_refused_entry_is_stored_once_it_is_corrected_under_its_own_id(client, firm, technician):
    entry = uuid4()
    send(client, technician, new_round(firm), ROUND | {"tested_on": "someday"}, entry)

    answer = send(client, technician, new_round(firm), ROUND, entry)

    assert answer.status_code == 200


def test_a_test_that_would_not_count_asks_for_its_tick_and_is_stored_with_it(client, firm, technician):
    path, leaking = new_test(firm.rows["round"]), TEST | {"leak_seen": "on"}

    asked = send(client, technician, path, leaking)
    kept = send(client, technician, path, leaking | {asked.json()["asks"][0]: "on"})

    assert (asked.status_code, asked.json()["asks"]) == (422, ["keep_anyway"])
    assert kept.status_code == 200
    assert kept.json()["notes"] == ["Test at gate stored. 1 deviation from the method; see below."]


def test_errors_in_forms_that_are_sent_together_are_told_under_the_names_they_were_sent(
    client, firm, technician
):
    task = f"task-{firm.rows['task']}"

    answer = send(
        client,
        technician,
        reverse("planning:visit-tell", args=[firm.rows["visit"]]),
        {f"{task}-outcome": "not_done"},
    )

    assert answer.status_code == 422
    assert f"{task}-reason" in [error["field"] for error in answer.json()["errors"]]


def test_what_is_not_allowed_now_is_told_with_409(client, firm, technician):
    round_ = RoundFactory(surface=firm.surface)
    rounds.void_round(round_=round_, by=technician, reason="Wrong place.")

    answer = send(client, technician, new_test(round_.pk), TEST)

    assert (answer.status_code, answer.json()["code"]) == (409, "not_now")
    assert "set aside" in answer.json()["text"]
    assert not InfiltrationTest.objects.filter(round=round_).exists()


def test_an_error_of_ours_that_no_form_meets_is_told_and_undone(client, firm, technician, monkeypatch):
    def half_way(**given):
        record(**given)
        raise NotAllowedNowError("The disk is full.")

    record = rounds.record_round
    monkeypatch.setattr("qa.views.rounds.rounds.record_round", half_way)
    before = TestRound.objects.count()

    answer = send(client, technician, new_round(firm), ROUND)

    assert (answer.status_code, answer.json()["text"]) == (409, "The disk is full.")
    assert (TestRound.objects.count(), FieldEntry.objects.count()) == (before, 1)


@pytest.mark.parametrize(
    "where", ["qa.views.rounds.rounds.record_round", "fieldwork.views.dispatch.complete_entry"]
)
def test_where_the_program_fails_nothing_is_half_stored(client, firm, technician, monkeypatch, where):
    record = rounds.record_round

    def fail(**given):
        if "round_" in given:
            record(**given)
        raise RuntimeError("fault")

    monkeypatch.setattr(where, fail)
    client.raise_request_exception = False
    before = TestRound.objects.count()

    answer = send(client, technician, new_round(firm), ROUND)

    assert answer.status_code == 500
    assert (TestRound.objects.count(), FieldEntry.objects.count()) == (before, 1)


@pytest.mark.parametrize(
    ("actor", "status", "code"),
    [
        ("outsider", 404, "not_found"),
        ("owner_person", 403, "no_role"),
        ("viewer", 403, "no_role"),
        ("technician", 200, None),
        ("coordinator", 200, None),
    ],
)
def test_who_may_not_record_there_is_told_in_json(client, firm, actor, status, code):
    person = getattr(firm, actor)
    client.force_login(person)

    answer = send(client, person, new_round(firm), ROUND)

    assert answer.headers["Content-Type"] == "application/json"
    assert (answer.status_code, answer.json().get("code")) == (status, code)
    assert FieldEntry.objects.filter(path=new_round(firm)).exists() == (status == 200)


def test_a_record_of_another_firm_is_as_unknown_as_one_that_is_not_there(client, firm, technician):
    theirs, nowhere = SurfaceFactory(), uuid4()

    answers = [
        send(client, technician, reverse("qa:round-create", args=[pk]), ROUND) for pk in (theirs.pk, nowhere)
    ]

    assert [one.status_code for one in answers] == [404, 404]
    assert answers[0].json() == answers[1].json()


def test_who_is_signed_out_is_told_in_json_however_large_the_entry(client, firm):
    photo = SimpleUploadedFile("plan.pdf", PDF + b"0" * 100_000)
    answers = [
        send(client, firm.technician, new_round(firm), ROUND),
        send(client, firm.technician, new_round(firm), ROUND, files={"photos": photo}),
    ]

    assert [(one.status_code, one.json()["code"]) for one in answers] == [(401, "signed_out")] * 2
    assert {one.headers["Cache-Control"] for one in answers} == {"no-store"}


def test_what_somebody_else_recorded_on_the_phone_is_not_stored_under_this_name(client, firm, technician):
    answer = send(client, firm.coordinator, new_round(firm), ROUND)

    assert (answer.status_code, answer.json()["code"]) == (403, "other_person")


def test_the_cross_site_check_holds(firm):
    client = Client(enforce_csrf_checks=True)
    client.force_login(firm.technician)
    meta = meta_of(firm.technician, new_round(firm), ROUND)
    before = TestRound.objects.count()

    without = put(client, uuid4(), meta)
    token = client.get(reverse("fieldwork:field-who")).json()["token"]
    with_token = put(client, uuid4(), meta, headers={"X-CSRFToken": token})

    assert without.status_code == 403
    assert without.headers["Content-Type"].startswith("text/html"), "by that a phone tells it from a refusal"
    assert with_token.status_code == 200
    assert TestRound.objects.count() == before + 1


@pytest.mark.parametrize(
    "path", ["/surfaces/", "/nowhere/", "/field/who/", "/sign-in/logout/", "/back-office/", "/plans/new/"]
)
def test_a_path_that_records_nothing_on_a_phone_is_refused(client, technician, path):
    answer = send(client, technician, path, ROUND)

    assert (answer.status_code, answer.json()["code"]) == (400, "not_a_form")


def test_a_first_step_that_stores_nothing_is_no_form(client, firm, technician):
    answer = send(client, technician, reverse("qa:sieving-create", args=[firm.surface.pk]), {"band": "8"})

    assert (answer.status_code, answer.json()["code"]) == (400, "not_a_form")


@pytest.mark.parametrize(
    "other",
    [
        {"path": "//elsewhere.example/"},
        {"path": "rounds"},
        {"path": "/rounds/\x00"},
        {"made_at": "yesterday"},
        {"made_at": "2026-01-01T00:00:00"},
        {"device": "mine"},
        {"fields": [["tested_on"]]},
        {"fields": {"tested_on": DAY}},
        {"known_offset_ms": 10**14},
        {"units": "cubits"},
    ],
)
def test_what_cannot_be_read_is_refused_in_words(client, firm, technician, other):
    answer = put(client, uuid4(), meta_of(technician, new_round(firm), ROUND) | other)

    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")
    assert "stays on the phone" in answer.json()["text"]


def test_long_words_about_an_entry_are_cut_and_it_is_stored(client, firm, technician):
    long = dict.fromkeys(("title", "about", "form_version"), "w" * 5_000)

    answer = send(client, technician, new_round(firm), ROUND, **long)

    assert answer.status_code == 200
    entry = FieldEntry.objects.get(pk=answer.json()["id"])
    assert {len(getattr(entry, name)) for name in long} == {200}


def test_a_body_that_is_no_entry_is_refused_in_words(client, technician):
    url = reverse("fieldwork:field-entry", args=[uuid4()])
    answers = [
        client.put(url, "{}", "application/json"),
        client.put(url, b"--x", "multipart/form-data; boundary=y"),
        client.put(url, b"", "multipart/form-data"),
    ]

    assert [(one.status_code, one.json()["code"]) for one in answers] == [(400, "unreadable")] * 3


def test_an_entry_that_is_too_large_is_told_as_such(client, firm, technician, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000

    answer = send(client, technician, new_round(firm), ROUND | {"note": "n" * 2000})

    assert (answer.status_code, answer.json()["code"]) == (413, "too_large")


def test_a_round_its_tests_and_a_photo_may_all_be_made_before_any_of_them_arrives(client, firm, technician):
    inspection, finding, photo = uuid4(), uuid4(), uuid4()
    inspecting = reverse("qa:inspection-create", args=[firm.surface.pk])
    found = f"/inspections/{{entry:{inspection}}}/found/new/?item=ponding"
    attaching = f"/found/{{entry:{finding}}}/files/new/"

    answers = [
        send(client, technician, inspecting, {"inspected_on": DAY, "everything": "on"}, inspection),
        send(client, technician, found, {"what": "Joints are empty.", "severity": "soon"}, finding),
        send(client, technician, attaching, {}, photo, {"photos": SimpleUploadedFile("plan.pdf", PDF)}),
    ]

    assert [one.status_code for one in answers] == [200] * 3, [one.content for one in answers]
    stored = InspectionFinding.objects.get(pk=answers[1].json()["pk"])
    assert str(stored.inspection_id) == answers[0].json()["pk"]
    assert Attachment.objects.get(pk=answers[2].json()["pk"]).finding == stored


def test_a_test_lands_in_the_round_that_another_entry_stored(client, firm, technician):
    round_ = uuid4()
    path = f"/rounds/{{entry:{round_}}}/tests/new/?method=ring"

    early = send(client, technician, path, TEST)
    made = send(client, technician, new_round(firm), ROUND, round_)
    late = send(client, technician, path, TEST)

    assert (early.status_code, early.json()["code"]) == (424, "waits_for")
    assert early.json()["entries"] == [str(round_)]
    assert late.status_code == 200
    assert str(InfiltrationTest.objects.get(pk=late.json()["pk"]).round_id) == made.json()["pk"]


def test_an_entry_of_another_firm_is_not_found_by_its_id(client, firm, technician):
    round_ = uuid4()
    send(client, technician, new_round(firm), ROUND, round_)
    client.force_login(firm.outsider)

    answer = send(client, firm.outsider, f"/rounds/{{entry:{round_}}}/tests/new/", TEST)

    assert answer.status_code == 424


def test_the_page_says_nothing_of_what_an_entry_was_answered(client, firm, technician):
    send(client, technician, new_test(firm.rows["round"]), TEST)

    page = client.get(reverse("reporting:start")).content.decode()

    assert "stored." not in page


def test_units_are_those_in_which_the_form_was_shown(client, firm, technician):
    typed = ROUND | {"air_temperature_c": "68"}
    type(technician).objects.filter(pk=technician.pk).update(units="si")

    answer = send(client, technician, new_round(firm), typed, units="us")

    assert TestRound.objects.get(pk=answer.json()["pk"]).air_temperature_c == pytest.approx(20.0)


def test_a_clock_that_is_two_days_ahead_moves_what_it_filled_in(client, firm, technician):
    ahead = timedelta(days=2)
    today = firm.site.today()
    typed = ROUND | {"tested_on": (today + ahead).isoformat(), "note": today.isoformat()}

    refused = send(client, technician, new_round(firm), typed)
    stored = send(
        client,
        technician,
        new_round(firm),
        typed,
        made_at=now() + ahead - timedelta(minutes=3),
        sent_at=now() + ahead,
        by_clock=["tested_on"],
    )

    assert refused.status_code == 422, "a day to come is refused where somebody typed it"
    assert stored.status_code == 200
    row = TestRound.objects.get(pk=stored.json()["pk"])
    entry = FieldEntry.objects.get(pk=stored.json()["id"])
    assert (row.tested_on, row.note) == (today, today.isoformat())
    assert entry.offset_s == pytest.approx(-ahead.total_seconds(), abs=10)
    assert entry.made_at > now(), "kept as the phone told it"


def test_the_time_of_a_test_comes_from_the_phone_by_our_clock(client, firm, technician):
    behind = timedelta(hours=3)
    made = now() - behind - timedelta(hours=1)
    typed = TEST | {"made_at": made.isoformat(), "finished_at": made.isoformat()}

    answer = send(
        client, technician, new_test(firm.rows["round"]), typed, made_at=made, sent_at=now() - behind
    )

    test = InfiltrationTest.objects.get(pk=answer.json()["pk"])
    for at in (test.made_at, test.finished_at):
        assert abs(at - (made + behind)) < timedelta(seconds=10)


def test_a_firm_that_asks_for_a_second_factor_says_so_in_json(client, firm, technician):
    type(firm.organisation).objects.filter(pk=firm.organisation.pk).update(second_factor=True)

    answer = send(client, technician, new_round(firm), ROUND)

    assert (answer.status_code, answer.json()["code"]) == (403, "second_factor")


def test_who_is_signed_in_is_told_with_a_token(client, firm, technician):
    answer = client.get(reverse("fieldwork:field-who"))

    told = answer.json()
    assert (told["person"], told["firm"]) == (str(technician.pk), str(firm.organisation.pk))
    assert told["token"]
    assert answer.headers["Cache-Control"] == "no-store"
    assert json.loads(answer.content) == told


def test_a_full_disk_is_no_refusal_of_what_was_sent(client, firm, technician, monkeypatch):
    def full(**given):
        raise NoRoomError("The disk is full.")

    path = reverse("qa:round-file-create", args=[firm.rows["round"]])
    monkeypatch.setattr("qa.views.files.files.attach", full)

    answer = send(client, technician, path, {}, files={"photos": SimpleUploadedFile("plan.pdf", PDF)})

    assert (answer.status_code, answer.json()["code"]) == (507, "no_room")


def test_a_list_that_is_not_answered_is_not_offered_as_in_order(client, firm, technician):
    path = reverse("qa:inspection-create", args=[firm.surface.pk])

    answer = send(client, technician, path, {"inspected_on": DAY})

    assert answer.status_code == 422
    assert any("Not answered yet" in error["text"] for error in answer.json()["errors"])
    assert answer.json()["asks"] == []
