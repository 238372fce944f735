"""Storing, seeing and setting aside photos and PDFs."""

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.urls import reverse

from core.forms.files import CHOOSE_AGAIN, MOST_AT_ONCE
from core.services import files as core_files
from core.services.uploads import Sent, accept
from maintenance.models import CleaningAttachment
from maintenance.services import cleanings
from qa.models import Attachment, CheckEntry, InspectionFinding
from qa.services import files
from tests.core.services.test_uploads import PDF, photo
from tests.factories import (
    AttachmentFactory,
    CheckEntryFactory,
    CleaningAttachmentFactory,
    CleaningFactory,
    ConstructionCheckFactory,
    ConstructionRecordFactory,
    CorrectiveWorkFactory,
    RoundFactory,
)


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    """A real folder, as where the firm's files lie."""
    settings.MEDIA_ROOT = tmp_path
    on_disk = {"BACKEND": "django.core.files.storage.FileSystemStorage"}
    settings.STORAGES = settings.STORAGES | {"default": on_disk}
    return tmp_path


def uploaded(content=None, name="joint.jpg"):
    return SimpleUploadedFile(name, photo() if content is None else content)


def sent(*several, caption=""):
    return Sent(tuple(accept(one) for one in several or (uploaded(),)), caption)


def on_disk(folder):
    return [path for path in Path(folder).rglob("*") if path.is_file()]


def test_a_file_lies_under_a_random_name_that_says_nothing(firm, folder):
    row = files.attach(to=firm.surface, sent=sent(uploaded(name="../../secret.jpg")), by=firm.technician)[0]

    assert row.original_name == "secret.jpg"
    assert len(on_disk(folder)) == 2
    for path in on_disk(folder):
        assert path.suffix == ""
        assert "secret" not in str(path.relative_to(folder))


def test_a_file_hangs_on_exactly_one_row(firm):
    round_ = RoundFactory(surface=firm.surface)

    for links in ({}, {"surface": firm.surface, "round": round_}):
        with pytest.raises(IntegrityError), transaction.atomic():
            AttachmentFactory(**links)
    for links in ({"surface": firm.surface}, {"round": round_}):
        assert AttachmentFactory(**links).hangs_on == next(iter(links.values()))


def test_a_refusal_leaves_nothing_behind(firm, folder, monkeypatch):
    calls = []

    def refuse_second(row):
        calls.append(row)
        if len(calls) == 2:
            raise ValueError("the disk is full")
        row.save()

    monkeypatch.setattr(core_files, "validate_and_save", refuse_second)

    with pytest.raises(ValueError, match="disk is full"):
        files.attach(to=firm.surface, sent=sent(uploaded(), uploaded()), by=firm.technician)

    assert on_disk(folder) == []
    assert not Attachment.objects.exists()


def rows_of_every_kind(surface):
    entry = CheckEntryFactory(
        construction_check=ConstructionCheckFactory(record=ConstructionRecordFactory(surface=surface)),
        outcome="failed",
    )
    return [
        AttachmentFactory(surface=surface),
        AttachmentFactory(round=RoundFactory(surface=surface)),
        AttachmentFactory(entry=entry),
        AttachmentFactory(work=CorrectiveWorkFactory(entry=entry)),
        CleaningAttachmentFactory(cleaning=CleaningFactory(surface=surface)),
    ]


@pytest.mark.parametrize(
    ("who", "status"),
    [
        ("outsider", 404),
        ("owner_person", 200),
        ("viewer", 200),
        ("technician", 200),
        ("coordinator", 200),
        ("admin", 200),
    ],
)
def test_a_file_is_seen_by_who_sees_the_row_it_hangs_on(client, firm, who, status):
    client.force_login(getattr(firm, who))

    for row in rows_of_every_kind(firm.surface):
        assert client.get(row.file_url()).status_code == status
        assert client.get(row.thumbnail_url()).status_code == status


def test_a_stranger_is_sent_to_sign_in_and_gets_no_byte(client, firm):
    row = AttachmentFactory(surface=firm.surface)

    response = client.get(row.file_url())

    assert response.status_code == 302
    assert response.url.startswith(reverse("account_login"))


def test_a_file_set_aside_is_kept_from_the_owner_and_readable_for_the_firm(client, firm):
    rows = rows_of_every_kind(firm.surface)
    for row in rows:
        core_files.void_file(row=row, by=firm.technician, reason="A face is to be seen.")

    for who, status in (("owner_person", 404), ("viewer", 200)):
        client.force_login(getattr(firm, who))
        assert {client.get(row.file_url()).status_code for row in rows} == {status}


def test_a_photo_is_shown_in_a_sandbox_and_never_sniffed(client, firm):
    client.force_login(firm.viewer)
    row = AttachmentFactory(surface=firm.surface, original_name='a"; filename="evil.html')

    response = client.get(row.file_url())

    assert response.headers["Content-Type"] == "image/jpeg"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in response.headers["Content-Security-Policy"]
    assert "script-src" not in response.headers["Content-Security-Policy"]
    assert response.headers["Content-Disposition"].startswith("inline")
    assert (
        response.headers["Content-Disposition"].count("filename") == 2
    )  # one parameter, one quoted in its value
    assert response.headers["Cache-Control"].startswith("private")


def test_every_header_is_plain_text_as_servers_ask(client, firm):
    client.force_login(firm.viewer)
    row = AttachmentFactory(surface=firm.surface)

    for url in (row.file_url(), row.thumbnail_url()):
        headers = client.get(url).headers
        assert {type(value) for value in headers.values()} == {str}


def test_a_pdf_is_only_ever_saved(client, firm):
    client.force_login(firm.viewer)
    row = files.attach(to=firm.surface, sent=sent(uploaded(PDF, "sieve.pdf")), by=firm.technician)[0]

    response = client.get(row.file_url())

    assert response.headers["Content-Disposition"] == 'attachment; filename="sieve.pdf"'
    assert b"".join(response.streaming_content) == PDF
    assert client.get(row.thumbnail_url()).status_code == 404


def test_a_file_missing_on_the_disk_is_said_so(client, firm, folder):
    client.force_login(firm.viewer)
    row = AttachmentFactory(surface=firm.surface)
    for path in on_disk(folder):
        path.unlink()

    assert client.get(row.file_url()).status_code == 404


def test_no_address_leads_to_the_folder(client, firm):
    client.force_login(firm.admin)
    row = AttachmentFactory(surface=firm.surface)

    for url in (f"/{row.content.name}", f"/media/{row.content.name}", f"/static/{row.content.name}"):
        assert client.get(url).status_code == 404


def test_photos_come_with_a_finding(client, firm):
    client.force_login(firm.technician)
    check = ConstructionCheckFactory(record=ConstructionRecordFactory(surface=firm.surface))

    client.post(
        reverse("qa:check-record", args=[check.pk]),
        {"reading": "yes", "done_on": "2024-03-01", "photos": [uploaded(), uploaded(PDF, "note.pdf")]},
    )

    entry = CheckEntry.objects.get()
    assert [a.media_type for a in entry.attachments.all()] == ["image/jpeg", "application/pdf"]
    assert client.get(check.get_absolute_url()).content.decode().count("<img") == 1


def test_a_bad_photo_is_named_and_takes_neither_the_others_nor_the_finding_with_it(client, firm):
    client.force_login(firm.technician)
    check = ConstructionCheckFactory(record=ConstructionRecordFactory(surface=firm.surface))
    photos = [uploaded(name="a.jpg"), uploaded(b"<html>", "page.jpg"), uploaded(name="c.jpg")]

    response = client.post(
        reverse("qa:check-record", args=[check.pk]),
        {"reading": "yes", "done_on": "2024-03-01", "note": "Dry", "photos": photos},
        follow=True,
    )

    entry = CheckEntry.objects.get()
    assert (entry.note, [f.original_name for f in entry.attachments.all()]) == ("Dry", ["a.jpg", "c.jpg"])
    said = [str(each) for each in response.context["messages"]]
    assert [words for words in said if "page.jpg" in words] == [
        words for words in said if "not a JPEG" in words
    ]
    assert any(words.startswith("Stored without this file: page.jpg") for words in said)


def test_photos_of_what_is_refused_are_to_be_chosen_again_and_the_bad_one_is_named(client, firm):
    client.force_login(firm.technician)
    check = ConstructionCheckFactory(record=ConstructionRecordFactory(surface=firm.surface))

    response = client.post(
        reverse("qa:check-record", args=[check.pk]),
        {"reading": "", "done_on": "2024-03-01", "photos": [uploaded(), uploaded(b"<html>", "page.jpg")]},
    )

    told = response.context["form"].errors["photos"]
    assert "page.jpg is not a JPEG" in told[0]
    assert told[1] == CHOOSE_AGAIN
    assert not CheckEntry.objects.exists()


def test_where_every_file_is_bad_and_nothing_else_was_sent_the_form_says_so(client, firm):
    client.force_login(firm.technician)
    url = reverse("qa:surface-file-create", args=[firm.surface.pk])

    response = client.post(url, {"photos": [uploaded(b"<html>", "page.jpg")]})

    assert "page.jpg is not a JPEG" in response.context["form"].errors["photos"][0]
    assert not Attachment.objects.exists()


def test_of_too_many_files_at_once_the_first_are_stored_and_each_other_is_named(client, firm):
    client.force_login(firm.technician)
    url = reverse("qa:surface-file-create", args=[firm.surface.pk])

    response = client.post(url, {"photos": [uploaded(name=f"{n}.jpg") for n in range(1, 15)]}, follow=True)

    assert Attachment.objects.count() == MOST_AT_ONCE
    said = " ".join(str(each) for each in response.context["messages"])
    assert "13.jpg was left out: at most 12 files" in said
    assert "14.jpg was left out" in said


def test_a_bad_photo_of_one_finding_of_an_inspection_does_not_stop_it(client, firm):
    client.force_login(firm.technician)
    data = {
        "inspected_on": "2024-03-01",
        "everything": "in_order",
        "joints-what": "Joints are empty",
        "joints-severity": "soon",
        "joints-photos": [uploaded(name="good.jpg"), uploaded(b"x", "bad.jpg")],
    }

    response = client.post(reverse("qa:inspection-create", args=[firm.surface.pk]), data, follow=True)

    finding = InspectionFinding.objects.get()
    assert [f.original_name for f in finding.attachments.all()] == ["good.jpg"]
    assert any("bad.jpg" in str(each) for each in response.context["messages"])


def test_photos_of_an_inspection_that_is_to_be_corrected_are_to_be_chosen_again_by_item(client, firm):
    client.force_login(firm.technician)
    data = {"inspected_on": "2024-03-01", "joints-what": "Joints are empty", "joints-photos": [uploaded()]}

    response = client.post(reverse("qa:inspection-create", args=[firm.surface.pk]), data)

    told = [words for errors in response.context["form"].errors.values() for words in errors]
    assert f"Joint fill: {CHOOSE_AGAIN}" in told
    assert not InspectionFinding.objects.exists()


def test_files_are_added_to_a_surface_a_round_and_a_cleaning_through_the_form(client, firm):
    client.force_login(firm.technician)
    round_, event = RoundFactory(surface=firm.surface), CleaningFactory(surface=firm.surface)

    for route, row in (
        ("qa:surface-file-create", firm.surface),
        ("qa:round-file-create", round_),
        ("maintenance:cleaning-file-create", event),
    ):
        response = client.post(
            reverse(route, args=[row.pk]), {"photos": [uploaded()], "caption": "North edge"}
        )
        assert response.url == row.get_absolute_url()
        assert "North edge" in client.get(row.get_absolute_url()).content.decode()


def test_a_file_form_without_a_file_says_so(client, firm):
    client.force_login(firm.technician)

    response = client.post(reverse("qa:surface-file-create", args=[firm.surface.pk]), {"caption": "x"})

    assert response.context["form"].errors["photos"] == ["Choose at least one file."]


def test_a_corrected_cleaning_keeps_its_photos(firm):
    old = CleaningFactory(surface=firm.surface)
    CleaningAttachmentFactory(cleaning=old)
    new = CleaningFactory.build(surface=firm.surface)

    cleanings.correct_cleaning(old=old, new=new, by=firm.technician, reason="Wrong day.")

    assert CleaningAttachment.objects.get().cleaning == new
