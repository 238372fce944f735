"""Kinds of file that are kept, and the names they are shown and handed out under."""

from enum import StrEnum
from pathlib import PurePosixPath

NAME_LENGTH = 120


class Kind(StrEnum):
    """What is kept; the value is the media type it is served with."""

    JPEG = "image/jpeg"
    PNG = "image/png"
    WEBP = "image/webp"
    PDF = "application/pdf"


EXTENSIONS = {Kind.JPEG: "jpg", Kind.PNG: "png", Kind.WEBP: "webp", Kind.PDF: "pdf"}


def plain_name(name: str) -> str:
    """The file's own name as text to show: no folders, no control or direction marks, not too long."""
    last = PurePosixPath(name.replace("\\", "/")).name
    visible = "".join(c for c in last if c.isprintable()).strip(" .")
    return visible[:NAME_LENGTH] or "file without a name"


def download_name(name: str, kind: Kind) -> str:
    """A name to hand the file out under: whatever it was called, it ends as what it is."""
    extension = EXTENSIONS[kind]
    stem = name[: -len(extension) - 1] if name.lower().endswith(f".{extension}") else name
    return f"{stem}.{extension}"
