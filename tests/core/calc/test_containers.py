"""What a video says of itself.

Boxes and elements as ISO/IEC 14496-12, RFC 8794 and RFC 9559 lay them out (names from memory); that real files are laid
out so is held in tests/browser, against a video that Chromium records.
"""

from io import BytesIO

import pytest

from core.calc.containers import BrokenVideoError, NotAVideoError, looks_like_video, read_video
from core.calc.file_kinds import MediaType
from tests.core.videos import GPS, box, moov, mp4, webm


def read(content):
    return read_video(BytesIO(content), len(content))


@pytest.mark.parametrize(
    ("content", "kind", "duration_s"),
    [
        (mp4(), MediaType.MP4, 4.0),
        (mp4(seconds=12.5, version=1), MediaType.MP4, 12.5),
        (mp4(b"abcd", compatible=(b"mp42",)), MediaType.MP4, 4.0),
        (mp4(b"qt  "), MediaType.QUICKTIME, 4.0),
        (webm(duration=2500.0), MediaType.WEBM, 2.5),
        (webm(), MediaType.WEBM, None),
        (webm(unknown=True), MediaType.WEBM, None),
    ],
    ids=[
        "mp4",
        "long header",
        "by what it can be read as",
        "QuickTime",
        "WebM",
        "without a length",
        "recorded live",
    ],
)
def test_a_video_is_told_by_its_content_with_its_length(content, kind, duration_s):
    video = read(content)

    assert looks_like_video(content[:12])
    assert (video.kind, video.duration_s) == (kind, duration_s)


@pytest.mark.parametrize(
    "content",
    [b"<html><script>alert(1)</script>", b"", mp4(b"heic", compatible=()), webm(b"matroska")],
    ids=["HTML", "nothing", "a photo in boxes", "another kind of Matroska"],
)
def test_what_is_no_video_is_refused(content):
    with pytest.raises(NotAVideoError):
        read(content)


BROKEN = {
    "cut within the frames": mp4()[:-1],
    "cut within the head": mp4()[:60],
    "cut after its name": mp4()[:20],
    "no frames": box(b"ftyp", b"isom", bytes(4)) + moov(),
    "no head": box(b"ftyp", b"isom", bytes(4)) + box(b"mdat", b"0"),
    "sound alone": mp4(kind=b"soun"),
    "no length": mp4(seconds=0),
    "a box shorter than its own head": box(b"ftyp", b"isom", bytes(4)) + b"\0\0\0\x04mdat" + bytes(20),
    "HTML behind a name": box(b"ftyp", b"isom", bytes(4)) + b"<html><script>alert(1)</script></html>",
    "WebM cut": webm()[:-1],
    "WebM of sound": webm(kind=2),
    "WebM name alone": webm()[:40],
}


@pytest.mark.parametrize("content", BROKEN.values(), ids=BROKEN)
def test_what_is_not_whole_or_has_no_picture_is_broken(content):
    with pytest.raises(BrokenVideoError):
        read(content)


@pytest.mark.parametrize("length", range(0, len(mp4()), 7))
def test_a_video_cut_anywhere_is_refused(length):
    with pytest.raises((NotAVideoError, BrokenVideoError)):
        read(mp4()[:length])


def test_what_the_camera_wrote_about_itself_is_found():
    content = mp4(place=True)

    (span,) = read(content).about_camera

    assert GPS in content[span.start : span.end]
    assert content[span.kind_at : span.kind_at + 4] == b"udta"


def test_a_box_of_endless_boxes_is_read_to_an_end():
    with pytest.raises(BrokenVideoError):
        read(box(b"ftyp", b"isom", bytes(4)) + box(b"free") * 6000)


def test_reading_takes_a_few_bytes_of_a_large_file():
    content = mp4(frames=bytes(5_000_000))
    file = Counting(content)

    read_video(file, len(content))

    assert file.taken < 5000


class Counting(BytesIO):
    taken = 0

    def read(self, size=-1):
        held = super().read(size)
        self.taken += len(held)
        return held
