"""What a video file says of itself: its boxes (MP4, QuickTime) or elements (WebM), read from the disk piece by piece.

Sources: ISO/IEC 14496-12 (boxes, ftyp, moov, mvhd, hdlr), QuickTime File Format Specification ("qt  "), RFC 8794 (EBML)
and RFC 9559 (Matroska, of which WebM is a part); names of boxes and elements from memory, held in the tests against
files that a browser has written.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite
from typing import BinaryIO

from core.calc.file_kinds import MediaType

MOST_PARTS = 5000  # boxes or elements read at one level; a clip of a minute has a few hundred
_QUICKTIME = b"qt  "
_MP4_BRANDS = frozenset(
    {
        b"isom",
        b"iso2",
        b"iso3",
        b"iso4",
        b"iso5",
        b"iso6",
        b"iso7",
        b"iso8",
        b"iso9",
        b"mp41",
        b"mp42",
        b"avc1",
    }
    | {b"M4V ", b"M4VH", b"M4VP", b"MSNV", b"3gp4", b"3gp5", b"3gp6", b"3gp7", b"dash"}
)
_EBML, _DOC_TYPE, _SEGMENT = 0x1A45DFA3, 0x4282, 0x18538067
_INFO, _SCALE, _DURATION = 0x1549A966, 0x2AD7B1, 0x4489
_TRACKS, _TRACK, _TRACK_TYPE, _CLUSTER, _PICTURE = 0x1654AE6B, 0xAE, 0x83, 0x1F43B675, 1
_NS_PER_S = 1e9
_ABOUT_THE_CAMERA = (b"udta", b"meta", b"uuid")
_HOLDS_BOXES = frozenset({b"moov", b"trak", b"mdia"})


class NotAVideoError(Exception):
    """The content is none of these kinds of video."""


class BrokenVideoError(Exception):
    """It begins as a video, but is not whole or holds no picture."""


@dataclass(frozen=True, slots=True)
class Span:
    """A part of a file: where what it holds begins and ends, in bytes; kind_at: where its kind is written."""

    start: int
    end: int
    kind_at: int = 0


@dataclass(frozen=True, slots=True)
class Video:
    """duration_s: None where the file does not say (a browser's recording). about_camera: parts written about it."""

    kind: MediaType
    duration_s: float | None
    about_camera: tuple[Span, ...] = ()


def looks_like_video(start: bytes) -> bool:
    """Whether the first bytes are those of a kind that is read here."""
    return start[4:8] == b"ftyp" or start[:4] == b"\x1a\x45\xdf\xa3"


def read_video(file: BinaryIO, size: int) -> Video:
    """What it is. size: of the file in bytes. Raises NotAVideoError, BrokenVideoError."""
    file.seek(0)
    start = file.read(12)
    if start[4:8] == b"ftyp":
        return _read_boxes(file, size)
    if start[:4] == b"\x1a\x45\xdf\xa3":
        return _read_webm(file, size)
    raise NotAVideoError


# ---- MP4 and QuickTime --------------------------------------------------------------------------


def _read_boxes(file: BinaryIO, size: int) -> Video:
    found = dict(_boxes(file, Span(0, size)))
    kind = _brand(file, found[b"ftyp"])
    if b"moov" not in found or b"mdat" not in found:
        raise BrokenVideoError
    tracks, about = _within_moov(file, found[b"moov"])
    if b"vide" not in tracks:
        raise BrokenVideoError
    whole = [span for name, span in found.items() if name in _ABOUT_THE_CAMERA]
    return Video(kind, _duration_s(file, found[b"moov"]), (*whole, *about))


def _boxes(file: BinaryIO, within: Span) -> Iterator[tuple[bytes, Span]]:
    """The boxes side by side. A box that would reach beyond what holds it was cut off."""
    at = within.start
    for _ in range(MOST_PARTS):
        if at >= within.end:
            return
        file.seek(at)
        head = file.read(16)
        if len(head) < 8:
            raise BrokenVideoError
        length, header = int.from_bytes(head[:4], "big"), 8
        if length == 1:
            length, header = int.from_bytes(head[8:16], "big"), 16
        elif length == 0:
            length = within.end - at
        if length < header or at + length > within.end:
            raise BrokenVideoError
        yield head[4:8], Span(at + header, at + length, at + 4)
        at += length
    raise BrokenVideoError


def _brand(file: BinaryIO, ftyp: Span) -> MediaType:
    """By the brand it was written as, else by one that it says it can be read as."""
    file.seek(ftyp.start)
    held = file.read(min(ftyp.end - ftyp.start, 400))
    brands = [held[:4], *(held[at : at + 4] for at in range(8, len(held) - 3, 4))]
    for brand in brands:
        if brand == _QUICKTIME:
            return MediaType.QUICKTIME
        if brand in _MP4_BRANDS:
            return MediaType.MP4
    raise NotAVideoError


def _within_moov(file: BinaryIO, moov: Span) -> tuple[list[bytes], list[Span]]:
    """What its tracks carry ("vide", "soun"), and the parts about camera and place."""
    carried, about, open_boxes = [], [], [moov]
    while open_boxes:
        for name, span in _boxes(file, open_boxes.pop()):
            if name in _ABOUT_THE_CAMERA:
                about.append(span)
            elif name in _HOLDS_BOXES:
                open_boxes.append(span)
            elif name == b"hdlr":
                file.seek(span.start + 8)
                carried.append(file.read(4))
    return carried, about


def _duration_s(file: BinaryIO, moov: Span) -> float:
    """By the movie header: a scale in ticks a second, and the ticks."""
    for name, span in _boxes(file, moov):
        if name == b"mvhd":
            file.seek(span.start)
            held = file.read(32)
            at, long = (20, 8) if held[:1] == b"\x01" else (12, 4)
            scale = int.from_bytes(held[at : at + 4], "big")
            ticks = int.from_bytes(held[at + 4 : at + 4 + long], "big")
            if scale and ticks and ticks < 2 ** (8 * long) - 1:
                return ticks / scale
    raise BrokenVideoError


# ---- WebM ---------------------------------------------------------------------------------------


def _read_webm(file: BinaryIO, size: int) -> Video:
    parts = dict(_elements(file, Span(0, size)))
    if _EBML not in parts or _text(file, parts[_EBML], _DOC_TYPE) != b"webm":
        raise NotAVideoError
    if _SEGMENT not in parts:
        raise BrokenVideoError
    held = _first_of_each(file, parts[_SEGMENT])
    if _CLUSTER not in held or _TRACKS not in held or not _has_picture(file, held[_TRACKS]):
        raise BrokenVideoError
    return Video(MediaType.WEBM, _webm_duration_s(file, held.get(_INFO)))


def _elements(file: BinaryIO, within: Span) -> Iterator[tuple[int, Span]]:
    """The elements side by side; one of unknown length, as a browser records, reaches to the end of what holds it."""
    at = within.start
    for _ in range(MOST_PARTS):
        if at >= within.end:
            return
        file.seek(at)
        name, after_name = _number(file, keep_marker=True)
        length, after_length = _number(file, keep_marker=False)
        start = at + after_name + after_length
        unknown = length == 2 ** (7 * after_length) - 1
        end = within.end if unknown else start + length
        if end > within.end:
            raise BrokenVideoError
        yield name, Span(start, end)
        at = end
    raise BrokenVideoError


def _number(file: BinaryIO, *, keep_marker: bool) -> tuple[int, int]:
    """A number of variable length (RFC 8794, 4), and of how many bytes; the marker is part of an element's name."""
    first = file.read(1)
    if not first or not first[0]:
        raise BrokenVideoError
    length = 9 - first[0].bit_length()
    rest = file.read(length - 1)
    if len(rest) != length - 1:
        raise BrokenVideoError
    value = int.from_bytes(first + rest, "big")
    return (value if keep_marker else value & (2 ** (7 * length) - 1)), length


def _first_of_each(file: BinaryIO, segment: Span) -> dict[int, Span]:
    """The first element of each name. Reading ends at the first cluster of unknown length, which hides the rest."""
    held: dict[int, Span] = {}
    for name, span in _elements(file, segment):
        held.setdefault(name, span)
    return held


def _text(file: BinaryIO, within: Span, name: int) -> bytes:
    span = dict(_elements(file, within)).get(name)
    if span is None or span.end - span.start > 64:
        return b""
    file.seek(span.start)
    return file.read(span.end - span.start).rstrip(b"\0")


def _has_picture(file: BinaryIO, tracks: Span) -> bool:
    entries = [span for name, span in _elements(file, tracks) if name == _TRACK]
    return any(int.from_bytes(_text(file, entry, _TRACK_TYPE), "big") == _PICTURE for entry in entries)


def _webm_duration_s(file: BinaryIO, info: Span | None) -> float | None:
    """Ticks as a float of 4 or 8 bytes, in nanoseconds of the scale; a million where none is given."""
    if info is None:
        return None
    span = dict(_elements(file, info)).get(_DURATION)
    if span is None or span.end - span.start not in (4, 8):
        return None
    file.seek(span.start)
    held = file.read(span.end - span.start)
    ticks = struct.unpack(">f" if len(held) == 4 else ">d", held)[0]
    scale = int.from_bytes(_text(file, info, _SCALE) or b"\x0f\x42\x40", "big")
    seconds = ticks * scale / _NS_PER_S
    return seconds if isfinite(seconds) and seconds > 0 else None
