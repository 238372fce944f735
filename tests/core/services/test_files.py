"""Photos and PDFs are kept whole or not at all, on the disk as in the database."""

from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError

from core.calc.file_kinds import MediaType
from core.errors import AlreadyDoneError
from core.services import files
from core.services.uploads import Accepted, Sent
from maintenance.models import CleaningAttachment
from maintenance.services.cleanings import attach_to_cleaning
from tests.factories import CleaningAttachmentFactory, CleaningFactory, UserFactory

pytestmark = pytest.mark.django_db

PHOTO = Accepted(MediaType.JPEG, "joint.jpg", b"a picture", 4, 3, b"a small one")
PAPER = Accepted(MediaType.PDF, "sheet.pdf", b"%PDF-1.7 a paper")


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    disk = {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": tmp_path}}
    settings.STORAGES = settings.STORAGES | {"default": disk}
    return tmp_path


def on_disk(folder: Path):
    return sorted(path.read_bytes() for path in folder.rglob("*") if path.is_file())


def attach(*accepted, **changes):
    event, person = CleaningFactory(), UserFactory()
    rows = attach_to_cleaning(event=event, sent=Sent(files=accepted, **changes), by=person)
    return event, person, rows


def test_what_was_sent_is_kept_with_who_sent_it(folder):
    event, person, _ = attach(PHOTO, PAPER, caption="Before", keep_location=True)

    photo, paper = event.attachments.order_by("original_name")
    assert (photo.original_name, photo.media_type, photo.size_bytes) == ("joint.jpg", "image/jpeg", 9)
    assert (photo.width_px, photo.height_px, paper.width_px) == (4, 3, None)
    assert {row.recorded_by for row in (photo, paper)} == {person}
    assert {(row.caption, row.location_kept) for row in (photo, paper)} == {("Before", True)}
    assert on_disk(folder) == sorted([b"a picture", b"a small one", b"%PDF-1.7 a paper"])


def test_a_paper_has_no_small_picture():
    _, _, (paper,) = attach(PAPER)

    assert (bool(paper.thumbnail), paper.is_photo, paper.extension) == (False, False, "pdf")


def test_nothing_sent_keeps_nothing(folder):
    assert attach()[2] == []
    assert on_disk(folder) == []


def test_the_place_of_a_file_tells_nothing_and_is_never_the_same_twice():
    _, _, rows = attach(PHOTO, PHOTO)

    names = [held.name for row in rows for held in (row.content, row.thumbnail)]
    assert len(set(names)) == 4
    assert not any("joint" in name for name in names)


@pytest.mark.parametrize("at", [0, 1, 2])
@pytest.mark.parametrize("fault", [DatabaseError("full"), OSError("disk"), KeyboardInterrupt()])
def test_a_fault_at_any_file_leaves_neither_rows_nor_files(folder, monkeypatch, at, fault):
    saved, store = [], files.validate_and_save

    def fails(row):
        if len(saved) == at:
            raise fault
        saved.append(row)
        store(row)

    monkeypatch.setattr(files, "validate_and_save", fails)

    with pytest.raises(type(fault)):
        attach(PHOTO, PAPER, PHOTO)

    assert not CleaningAttachment.objects.exists()
    assert on_disk(folder) == []


def test_a_caption_that_is_too_long_is_refused_and_no_file_is_left(folder):
    with pytest.raises(ValidationError, match="at most 200 characters"):
        attach(PHOTO, caption="x" * 201)

    assert on_disk(folder) == []


def test_a_file_set_aside_keeps_its_content_who_and_why(folder):
    _, _, (row,) = attach(PHOTO)
    person = UserFactory()

    files.void_file(row=row, by=person, reason=" The wrong joint. ")

    row.refresh_from_db()
    assert (row.state, row.state_reason, row.state_by, row.is_shown) == (
        "void",
        "The wrong joint.",
        person,
        False,
    )
    assert len(on_disk(folder)) == 2


def test_a_file_is_set_aside_once():
    row = CleaningAttachmentFactory()
    files.void_file(row=row, by=UserFactory(), reason="Blurred.")

    with pytest.raises(AlreadyDoneError, match="already set aside"):
        files.void_file(row=row, by=UserFactory(), reason="Blurred, again.")

    row.refresh_from_db()
    assert row.state_reason == "Blurred."
