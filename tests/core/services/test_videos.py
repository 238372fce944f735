"""Videos that somebody sends: checked by content, limited, cleared of place, stored without being read into memory."""

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile, TemporaryUploadedFile

from core.calc.file_kinds import MediaType
from core.services.uploads import Sent, accept
from qa.services import files
from tests.core.videos import GPS, mp4, webm


def sent(content, name="water.mp4", declared="video/mp4"):
    return SimpleUploadedFile(name, content, content_type=declared)


@pytest.mark.parametrize(
    ("content", "kind"),
    [(mp4(), MediaType.MP4), (mp4(b"qt  "), MediaType.QUICKTIME), (webm(), MediaType.WEBM)],
)
def test_a_video_is_told_by_its_content_whatever_it_is_called(content, kind):
    accepted = accept(sent(content, "report.exe", "text/html"))

    assert (accepted.kind, accepted.is_video, accepted.to_store.size) == (kind, True, len(content))


def test_a_page_called_a_video_is_refused_in_words():
    with pytest.raises(ValidationError, match=r"water\.mp4 is not a JPEG.* whatever its name says"):
        accept(sent(b"<html><script>alert(1)</script></html>"))


def test_a_video_that_was_cut_off_is_refused_in_words():
    with pytest.raises(ValidationError, match=r"water\.mp4 is cut off, or holds no moving picture"):
        accept(sent(mp4()[:-5]))


def test_a_video_above_the_limit_is_refused_with_both_sizes(settings):
    settings.VIDEO_MOST_MB = 1

    with pytest.raises(ValidationError, match=r"water\.mp4 has 2\.0 MB; videos of at most 1 MB are kept"):
        accept(sent(mp4(frames=bytes(2 * 1024**2))))


def test_a_limit_of_nothing_takes_no_video(settings):
    settings.VIDEO_MOST_MB = 0

    with pytest.raises(ValidationError, match="at most 0 MB"):
        accept(sent(mp4()))


@pytest.mark.parametrize(("keep", "there"), [(False, False), (True, True)])
def test_where_it_was_filmed_is_taken_out_unless_asked_for(keep, there):
    content = mp4(place=True)

    accepted = accept(sent(content), keep_location=keep)

    stored = accepted.to_store.read()
    assert (GPS in stored, len(stored)) == (there, len(content))
    assert accept(sent(stored)).duration_s == 4.0


def test_a_large_video_goes_from_disk_to_disk(firm, tmp_path, monkeypatch):
    upload = TemporaryUploadedFile("water.mp4", "video/mp4", 0, None)
    content = mp4(frames=bytes(3_000_000))
    upload.write(content)
    upload.size = len(content)
    most = []
    read = upload.file.read
    monkeypatch.setattr(upload.file, "read", lambda size=-1: most.append(size) or read(size))

    (row,) = files.attach(to=firm.surface, sent=Sent((accept(upload),), "Water"), by=firm.technician)

    upload.close()
    assert max(most) <= 64 * 1024
    assert min(most) > 0
    with row.content.open("rb") as held:
        assert held.read() == content
    assert (row.media_type, row.size_bytes, row.duration_s) == ("video/mp4", len(content), 4.0)
    assert (row.is_video, row.is_photo, row.download_name) == (True, False, "water.mp4")
