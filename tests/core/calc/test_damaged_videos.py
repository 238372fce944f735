"""A video whose bytes were turned or cut is read, or refused as what it is; nothing else ever happens."""

from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.containers import BrokenVideoError, NotAVideoError, Video, read_video
from tests.core.videos import box, element, moov, mp4, webm

WHOLE = {"mp4": mp4(place=True), "long": mp4(seconds=12.5, version=1), "webm": webm(duration=2500.0)}
LIVE = webm(unknown=True)


def outcome(content):
    """What was read, or by which of our words it was refused."""
    try:
        return read_video(BytesIO(content), len(content))
    except (BrokenVideoError, NotAVideoError) as error:
        return type(error)


@pytest.mark.parametrize("name", WHOLE)
@given(data=st.data())
def test_turned_bytes_are_read_or_refused(name, data):
    content = bytearray(WHOLE[name])
    head = min(len(content), 200)
    for place in data.draw(st.lists(st.integers(0, head - 1), min_size=1, max_size=6)):
        content[place] = data.draw(st.integers(0, 255))

    found = outcome(bytes(content))

    assert found in (BrokenVideoError, NotAVideoError) or isinstance(found, Video)
    if isinstance(found, Video):
        assert found.duration_s is None or found.duration_s > 0
        assert all(0 <= span.start <= span.end <= len(content) for span in found.about_camera)


@pytest.mark.parametrize("name", WHOLE)
@given(share=st.floats(0, 1, exclude_max=True))
def test_a_video_that_was_cut_is_never_taken_for_a_whole_one(name, share):
    content = WHOLE[name]

    assert outcome(content[: int(len(content) * share)]) in (BrokenVideoError, NotAVideoError)


@given(st.integers(0, 299))
def test_one_that_was_recorded_live_ends_where_its_frames_end(left_out):
    """It says no length, so that its last frames may be missing without a sign."""
    assert isinstance(outcome(LIVE[: len(LIVE) - left_out]), Video)


@given(st.binary(max_size=400))
def test_other_bytes_are_no_video_and_no_fault(content):
    for start in (b"", b"\0\0\0\x18ftypisom", b"\x1a\x45\xdf\xa3"):
        found = outcome(start + content)
        assert found in (BrokenVideoError, NotAVideoError) or isinstance(found, Video)


@pytest.mark.parametrize(
    "content",
    [
        box(b"ftyp", b"isom", bytes(4), b"mp41") + b"\0\0\0\x04moov",
        box(b"ftyp", b"isom", bytes(4), b"mp41") + b"\xff\xff\xff\xffmoov" + bytes(80),
        box(b"ftyp", b"isom", bytes(4), b"mp41") + b"\0\0\0\x01moov" + b"\xff" * 8,
        box(b"ftyp", b"isom", bytes(4), b"mp41") + b"\0\0\0\x01moov\0",
        box(b"ftyp", b"isom", bytes(4), b"mp41") + box(b"mdat", bytes(40)),
        box(b"ftyp", b"isom", bytes(4), b"mp41") + moov(),
        mp4(kind=b"soun"),
        webm(kind=2),
        element(b"\x1a\x45\xdf\xa3", element(b"\x42\x82", b"webm")),
        element(b"\x1a\x45\xdf\xa3", element(b"\x42\x82", b"webm")) + b"\x18\x53\x80\x67\x00",
    ],
    ids=["shorter than its head", "longer than the file", "longer than any file", "a long head that is cut",
         "frames alone", "no frames", "sound alone", "sound alone in WebM", "a head alone", "a length of nothing"],
)  # fmt: skip
def test_boxes_that_do_not_fit_are_broken(content):
    assert outcome(content) is BrokenVideoError


def test_boxes_without_end_are_not_read_to_their_end():
    assert outcome(box(b"ftyp", b"isom", bytes(4), b"mp41") + box(b"free") * 6_000) is BrokenVideoError
