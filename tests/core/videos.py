"""Small files in the containers of videos, put together box by box as the standards say."""

import struct

GPS = b"+51.5000-000.1000/"


def box(name, *held):
    content = b"".join(held)
    return struct.pack(">I4s", 8 + len(content), name) + content


def mvhd(seconds=4.0, scale=600, version=0):
    ticks = round(seconds * scale)
    if version:
        return box(b"mvhd", b"\x01\0\0\0", bytes(16), struct.pack(">IQ", scale, ticks), bytes(80))
    return box(b"mvhd", bytes(12), struct.pack(">II", scale, ticks), bytes(80))


def track(kind=b"vide"):
    return box(b"trak", box(b"mdia", box(b"hdlr", bytes(8), kind, bytes(13))))


def moov(*, seconds=4.0, version=0, kind=b"vide", place=False):
    about = [box(b"udta", box(b"\xa9xyz", GPS))] if place else []
    return box(b"moov", mvhd(seconds, version=version), track(kind), *about)


def mp4(brand=b"isom", *, frames=b"\0" * 400, compatible=(b"mp41",), **about):
    return box(b"ftyp", brand, bytes(4), *compatible) + moov(**about) + box(b"mdat", frames)


def element(name, *held, unknown=False):
    content = b"".join(held)
    length = b"\xff" * 7 if unknown else len(content).to_bytes(7, "big")
    return name + b"\x01" + length + content


def webm(doc_type=b"webm", *, kind=1, duration=None, unknown=False, frames=b"\0" * 300):
    head = element(b"\x1a\x45\xdf\xa3", element(b"\x42\x82", doc_type))
    timing = [element(b"\x44\x89", struct.pack(">d", duration))] if duration is not None else []
    info = element(b"\x15\x49\xa9\x66", element(b"\x2a\xd7\xb1", b"\x0f\x42\x40"), *timing)
    tracks = element(b"\x16\x54\xae\x6b", element(b"\xae", element(b"\x83", bytes([kind]))))
    cluster = element(b"\x1f\x43\xb6\x75", frames, unknown=unknown)
    return head + element(b"\x18\x53\x80\x67", info, tracks, cluster, unknown=unknown)
