"""An archive is sent, brought back as a job and thrown away; whoever it names stands for nobody of this server."""

import json
from datetime import timedelta
from io import BytesIO
from uuid import UUID

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.timezone import now

from accounts.models import Owner, User
from core.errors import NotAllowedNowError, UnusableRecordError
from core.services import jobs
from core.services.jobs import Outcome
from exchange.models import Restoration
from exchange.services import archive_opening, restoring
from exchange.services.restoring import LEFT, ask_to_restore, restore
from qa.models import Site, TestRound
from tests.exchange.archives import archive_of, empty_firm, lines_of, packed, parts_of, sealed, with_cells
from tests.factories import InfiltrationTestFactory, MembershipFactory, OwnerFactory, RoundFactory
from tests.refusals import refused

LABEL = "exchange.Restoration"
SENDING = UUID("11111111-2222-4333-8444-555555555555")


@pytest.fixture
def archive(firm):
    RoundFactory(surface=firm.surface, recorded_by=firm.technician, device_id=SENDING)
    return archive_of(firm.organisation)


@pytest.fixture
def target(db):
    return empty_firm()


def asked(target, content, **changes):
    by = target.memberships.get().user
    sent = SimpleUploadedFile("archive.zip", content)
    return ask_to_restore(restoration=Restoration(organisation=target, made_by=by, **changes), sent=sent)


def stays(restoration):
    return bool(restoration.content) and restoration.content.storage.exists(restoration.content.name)


@pytest.fixture
def waiting(target, archive):
    return asked(target, archive.getvalue())


def test_what_was_sent_is_brought_back_and_its_file_thrown_away(
    target, waiting, firm, django_capture_on_commit_callbacks
):
    storage, name = waiting.content.storage, waiting.content.name
    assert storage.exists(name)

    with django_capture_on_commit_callbacks(execute=True):
        assert jobs.run(LABEL, waiting.pk) is Outcome.DONE

    waiting.refresh_from_db()
    assert (waiting.state, waiting.error, waiting.content.name) == ("done", "", "")
    assert waiting.rows > 4
    assert not storage.exists(name)
    assert Owner.objects.of_organisation(target).get().name == firm.owner.name


def test_asked_for_twice_with_one_sending_it_is_one(target, archive):
    key = target.pk
    first = asked(target, archive.getvalue(), device_id=key)

    again = asked(target, archive.getvalue(), device_id=key)

    assert again == first
    assert Restoration.objects.count() == 1


def test_what_is_no_archive_is_refused_beside_its_field(target):
    with refused(ValidationError, "not an archive", beside="archive"):
        asked(target, b"PK no zip")


def test_a_firm_that_has_records_is_told_of_which(firm):
    OwnerFactory(organisation=(other := empty_firm()))

    with refused(NotAllowedNowError, str(other), "owner", "set up a new one"):
        asked(other, b"whatever it is")


def test_a_firm_that_got_records_meanwhile_keeps_them(target, waiting):
    OwnerFactory(organisation=target, name="Meanwhile")

    assert jobs.run(LABEL, waiting.pk) is Outcome.FAILED
    waiting.refresh_from_db()
    assert "has records already" in waiting.error
    assert [owner.name for owner in Owner.objects.of_organisation(target)] == ["Meanwhile"]


def test_a_file_that_is_gone_is_told(waiting):
    waiting.content.storage.delete(waiting.content.name)

    assert jobs.run(LABEL, waiting.pk) is Outcome.FAILED
    waiting.refresh_from_db()
    assert waiting.error == archive_opening.NOT_AN_ARCHIVE


def test_a_damaged_archive_is_told_of_and_can_be_looked_at(target, archive):
    broken = with_cells(parts_of(archive), "owner", name="Somebody else")
    waiting = asked(target, packed(broken).getvalue())

    assert jobs.run(LABEL, waiting.pk) is Outcome.FAILED
    waiting.refresh_from_db()
    assert "csv/owner.csv is not as it was packed" in waiting.error
    assert stays(waiting)


@pytest.mark.parametrize(
    ("state", "days", "kept"),
    [("failed", 6, True), ("failed", 8, False), ("waiting", 8, True), ("running", 8, True)],
)
def test_an_archive_that_did_not_come_back_is_not_kept_for_good(
    waiting, state, days, kept, django_capture_on_commit_callbacks
):
    """It holds everything a firm had, and no page takes it away."""
    storage, name = waiting.content.storage, waiting.content.name
    Restoration.objects.update(state=state, created_at=now() - timedelta(days=days))

    with django_capture_on_commit_callbacks(execute=True):
        restoring.remove_old()

    waiting.refresh_from_db()
    assert (bool(waiting.content), storage.exists(name)) == (kept, kept)


def test_the_sweep_takes_old_archives_away(waiting, monkeypatch):
    monkeypatch.setattr(jobs, "_KINDS", {LABEL: jobs.kind_of(LABEL)})
    Restoration.objects.update(state="failed", created_at=now() - timedelta(days=8))

    jobs.sweep()

    assert Restoration.objects.get().content.name == ""


# ---- ids and people ---------------------------------------------------------------------------------------


def test_an_archive_comes_back_beside_the_firm_that_it_is_from_and_twice(firm, archive, target):
    second = empty_firm()

    for place in (target, second):
        archive.seek(0)
        restore(organisation=place, content=archive)

    names = [Site.objects.of_organisation(place).get() for place in (firm.organisation, target, second)]
    assert len({site.pk for site in names}) == 3
    assert {site.name for site in names} == {firm.site.name}
    assert {site.owner.organisation_id for site in names} == {firm.organisation.pk, target.pk, second.pk}


def test_an_id_of_a_sending_that_is_taken_here_becomes_another(firm, archive, target):
    """Else what a phone sends late to one firm would be taken for what the other has."""
    restore(organisation=target, content=archive)

    ids = set(TestRound.objects.values_list("device_id", flat=True))
    assert len(ids) == 2
    assert SENDING in ids


def test_an_id_of_a_sending_that_is_free_stays(firm, archive, target):
    TestRound.objects.filter(surface=firm.surface).delete()

    restore(organisation=target, content=archive)

    assert TestRound.objects.get().device_id == SENDING


def test_whoever_belongs_to_the_firm_stands_for_themselves(firm, archive, target):
    MembershipFactory(organisation=target, user=firm.technician)

    restore(organisation=target, content=archive)

    assert TestRound.objects.of_organisation(target).get().recorded_by == firm.technician


def test_whoever_has_an_account_elsewhere_on_this_server_signs_nothing_here(firm, archive, target):
    restore(organisation=target, content=archive)

    recorded_by = TestRound.objects.of_organisation(target).get().recorded_by
    assert recorded_by != firm.technician
    assert recorded_by.email.endswith(LEFT)
    assert str(recorded_by) == str(firm.technician).partition("@")[0]


def test_a_stand_in_is_the_same_each_time_and_another_in_another_firm(firm, archive, target):
    restore(organisation=target, content=archive)
    second = empty_firm()
    archive.seek(0)
    restore(organisation=second, content=archive)

    people = User.objects.filter(email__endswith=LEFT).values_list("email", flat=True)
    assert len(people) == len(set(people)) == 2 * len(lines_of(archive, "person"))


# ---- what nobody packed -----------------------------------------------------------------------------------


def said(parts, target):
    with pytest.raises(UnusableRecordError) as raised:
        restore(organisation=target, content=sealed(parts))
    assert not Owner.objects.of_organisation(target).exists()
    return str(raised.value)


MANY = "9" * 5_000  # more figures than Python reads as a number


@pytest.mark.parametrize(
    ("name", "cells", "words"),
    [
        ("person", {"id": MANY}, "there is no person '9999"),
        ("test_round", {"recorded_by_id": MANY}, "there is no person '9999"),
        ("owner", {"below_price_m2_yr": "NaN"}, "in below_price_m2_yr"),
        ("owner", {"below_price_m2_yr": "-Infinity"}, "in below_price_m2_yr"),
        ("owner_history", {"below_price_m2_yr": "NaN"}, "in below_price_m2_yr"),
        ("owner_history", {"below_price_m2_yr": "1e400"}, "in below_price_m2_yr"),
        ("site", {"works_from": "07:30:00+02:00"}, "in works_from"),
        ("infiltration_test", {"readings_json": '{"schema":1,"once":{"drop":NaN}}'}, "in readings_json"),
    ],
    ids=[
        "a person",
        "who recorded",
        "no sum",
        "no end",
        "no sum before",
        "a huge sum before",
        "a clock",
        "data",
    ],
)
def test_what_no_database_holds_is_refused_by_its_place(firm, target, name, cells, words):
    firm.owner.phone = "1"
    firm.owner.save()
    InfiltrationTestFactory(round__surface=firm.surface, round__recorded_by=firm.technician)
    parts = parts_of(archive_of(firm.organisation))

    text = said(with_cells(parts, name, **cells), target)

    assert words in text
    assert "Nothing is stored" in text


def test_a_manifest_that_names_files_amiss_is_refused_or_of_no_account(firm, archive, target):
    parts = parts_of(archive)
    manifest = json.loads(parts["manifest.json"])
    for files in (None, "all", [1, None, "x"], [{"path": 7}]):
        content = packed({**parts, "manifest.json": json.dumps(manifest | {"files": files})})
        place = empty_firm()
        restore(organisation=place, content=BytesIO(content.getvalue()))
        assert Owner.objects.of_organisation(place).exists()  # this archive has no file to be named
