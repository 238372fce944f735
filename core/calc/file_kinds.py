"""Kinds of file that are kept, and the names they are shown and handed out under."""

from pathlib import PurePosixPath

from core.calc.choices import TextChoice
from core.calc.translation import gettext as _

NAME_LENGTH = 120


class MediaType(TextChoice):
    """Kinds of file that are kept; the value is what they are served as."""

    JPEG = "image/jpeg", "JPEG photo"
    PNG = "image/png", "PNG picture"
    WEBP = "image/webp", "WebP photo"
    PDF = "application/pdf", "PDF"
    MP4 = "video/mp4", "MP4 video"
    WEBM = "video/webm", "WebM video"
    QUICKTIME = "video/quicktime", "QuickTime video"


PHOTOS = frozenset({MediaType.JPEG, MediaType.PNG, MediaType.WEBP})
VIDEOS = frozenset({MediaType.MP4, MediaType.WEBM, MediaType.QUICKTIME})
EXTENSIONS = {
    MediaType.JPEG: "jpg",
    MediaType.PNG: "png",
    MediaType.WEBP: "webp",
    MediaType.PDF: "pdf",
    MediaType.MP4: "mp4",
    MediaType.WEBM: "webm",
    MediaType.QUICKTIME: "mov",
}


def plain_name(name: str) -> str:
    """The file's own name as text to show: no folders, no control or direction marks, not too long."""
    last = PurePosixPath(name.replace("\\", "/")).name
    visible = "".join(c for c in last if c.isprintable()).strip(" .")
    return visible[:NAME_LENGTH] or _("file without a name")


def download_name(name: str, kind: MediaType) -> str:
    """A name to hand the file out under: whatever it was called, it ends as what it is."""
    extension = EXTENSIONS[kind]
    stem = name[: -len(extension) - 1] if name.lower().endswith(f".{extension}") else name
    return f"{stem}.{extension}"
