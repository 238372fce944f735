"""Files that come with a form: what is kept, what is left out and why, what is asked for again."""

import pytest
from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.datastructures import MultiValueDict

from core.calc.file_kinds import MediaType
from core.forms.files import CHOOSE_AGAIN, MOST_AT_ONCE, SAY_WHAT, AttachForm, WithFiles
from core.services.uploads import Accepted


class NoteForm(WithFiles):
    """A form with words of its own, and none that describe a picture."""

    note = forms.CharField(max_length=5)


@pytest.fixture(autouse=True)
def looked_at(monkeypatch):
    """Each file that is looked at, by its name; one that is called bad is refused."""
    seen = []

    def accept(one, *, keep_location):
        seen.append((one.name, keep_location))
        if "bad" in one.name:
            raise ValidationError(f"{one.name} cannot be kept. Send another.")
        kind = MediaType.MP4 if one.name.endswith("mp4") else MediaType.JPEG
        return Accepted(kind, one.name, b"x")

    monkeypatch.setattr("core.forms.files.accept", accept)
    return seen


def sent(kind, *names, **data):
    files = MultiValueDict({"photos": [SimpleUploadedFile(name, b"x") for name in names]} if names else {})
    return kind(data, files)


def kept(form):
    assert form.is_valid(), form.errors
    return [one.name for one in form.sent.files]


def test_all_files_are_kept_in_their_order_with_what_was_ticked(looked_at):
    form = sent(NoteForm, "a.jpg", "b.jpg", note="x", keep_location="on")

    assert kept(form) == ["a.jpg", "b.jpg"]
    assert looked_at == [("a.jpg", True), ("b.jpg", True)]
    assert form.sent.keep_location is True
    assert form.refused_files == []


def test_a_file_that_cannot_be_kept_takes_nothing_with_it():
    form = sent(NoteForm, "a.jpg", "bad.jpg", "c.jpg", note="x")

    assert kept(form) == ["a.jpg", "c.jpg"]
    assert form.cleaned_data["note"] == "x"
    assert form.refused_files == ["bad.jpg cannot be kept. Send another."]


def test_without_a_file_a_form_is_as_good_where_none_is_needed():
    assert kept(sent(NoteForm, note="x")) == []


@pytest.mark.parametrize(
    ("names", "said"), [((), "Choose at least one file."), (("bad.jpg",), "bad.jpg cannot be kept")]
)
def test_where_files_are_all_there_is_one_at_least_is_kept(names, said):
    form = sent(AttachForm, *names)

    assert not form.is_valid()
    assert said in form.errors["photos"][0]


def test_of_several_one_that_is_kept_is_enough():
    assert kept(sent(AttachForm, "bad.jpg", "a.jpg")) == ["a.jpg"]


def test_more_than_go_at_once_are_left_out_by_name_and_never_looked_at(looked_at):
    names = [f"{n}.jpg" for n in range(MOST_AT_ONCE + 2)]

    form = sent(NoteForm, *names, note="x")

    assert kept(form) == names[:MOST_AT_ONCE]
    assert len(looked_at) == MOST_AT_ONCE
    assert [words.split()[0] for words in form.refused_files] == names[MOST_AT_ONCE:]
    assert f"at most {MOST_AT_ONCE} files go at once" in form.refused_files[0]


def test_a_video_where_nobody_can_describe_it_is_sent_to_where_one_can():
    form = sent(NoteForm, "a.jpg", "way.mp4", note="x")

    assert kept(form) == ["a.jpg"]
    assert form.refused_files[0].startswith("way.mp4 is a video. Add it on the page")


@pytest.mark.parametrize(
    ("caption", "valid"), [("", False), ("   ", False), ("Water stands by the gate.", True)]
)
def test_a_video_is_told_in_words_too(caption, valid):
    form = sent(AttachForm, "way.mp4", caption=caption)

    assert form.is_valid() is valid
    assert form.errors.get("caption", []) == ([] if valid else [SAY_WHAT])


def test_a_caption_that_is_refused_for_itself_is_told_once():
    form = sent(AttachForm, "way.mp4", caption="x" * 201)

    assert not form.is_valid()
    assert len(form.errors["caption"]) == 1


def test_a_photo_needs_no_words():
    form = sent(AttachForm, "a.jpg")

    assert kept(form) == ["a.jpg"]
    assert form.sent.caption == ""


def test_where_something_else_is_to_be_corrected_the_files_are_asked_for_again():
    form = sent(NoteForm, "a.jpg", "bad.jpg", note="too long")
    assert not form.is_valid()

    form.ask_for_files_again()

    assert form.errors["photos"] == ["bad.jpg cannot be kept. Send another.", CHOOSE_AGAIN]


@pytest.mark.parametrize("kind", [NoteForm, AttachForm])
def test_where_none_came_or_they_are_what_is_wrong_they_are_not_asked_for_twice(kind):
    form = sent(kind, note="too long")
    form.is_valid()
    before = dict(form.errors)

    form.ask_for_files_again()

    assert form.errors == before


def test_the_same_page_sent_twice_is_one_sending_and_another_page_another():
    key = "11111111-2222-4333-8444-555555555555"
    ids = [sent(AttachForm, "a.jpg", device_id=given) for given in (key, key, key.replace("1", "2"))]
    assert all(form.is_valid() for form in ids)

    first, again, other = (form.sent.device_id for form in ids)
    assert first == again != other
