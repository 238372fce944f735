"""What may be stored of a file that somebody sends: checked by its content, made anew, stripped of metadata.

A photo is decoded and written anew, so that nothing but its picture is kept; a name or a declared type
decides nothing. A PDF is kept as it is: it is only ever handed out as a download. A video is kept but for
what the camera wrote about itself and its place.
"""

import re
from dataclasses import dataclass
from io import BytesIO
from threading import Lock
from typing import BinaryIO, cast
from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile, File
from PIL import Image, ImageOps, UnidentifiedImageError

from core.calc.containers import BrokenVideoError, NotAVideoError, Span, looks_like_video, read_video
from core.calc.file_kinds import VIDEOS, MediaType, plain_name
from core.calc.format import fixed
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop

MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS = 60_000_000  # a telephone of today takes 50 million, as JPEG, which is decoded small
# What no decoder makes small on the way: four bytes a pixel, and a second copy while it is turned and made smaller.
MOST_PIXELS_IN_WHOLE = 20_000_000
LONGEST_SIDE_READ = 16_000
LONGEST_SIDE = 3200
THUMBNAIL_SIDE = 640
MOST_EXIF_BYTES = 64_000  # what a JPEG segment can hold

TOO_LARGE = gettext_noop("%(name)s has %(size)s MB; at most %(most)d MB are kept. Send it smaller.")
EMPTY = gettext_noop("%(name)s is empty. Choose the file again.")
NOT_READABLE = gettext_noop(
    "%(name)s is not a JPEG, PNG or WebP photo, an MP4, WebM or QuickTime video nor a PDF, whatever its name says. "
    "Take the photo as JPEG (a telephone calls it 'most compatible'), or send a PDF."
)
BROKEN = gettext_noop("%(name)s cannot be read to its end. Send it again, or take another photo.")
VIDEO_TOO_LARGE = gettext_noop(
    "%(name)s has %(size)s MB; videos of at most %(most)d MB are kept. Send a shorter or a smaller one."
)
VIDEO_BROKEN = gettext_noop(
    "%(name)s is cut off, or holds no moving picture. Send it again, or film it anew."
)
BLANK_AT_ONCE = 64 * 1024
TOO_MANY_PIXELS = gettext_noop(
    "%(name)s has %(width)d × %(height)d pixels; at most %(most)d million are read, and no side over 16 000. "
    "Send it smaller, or as JPEG."
)

FAR_TOO_MANY = gettext_noop(
    "%(name)s has far more than the %(most)d million pixels that are read. Send it smaller."
)


# Of a process: what decoding takes is not to be multiplied by the people who send at once.
_ONE_AT_A_TIME = Lock()
_KINDS = {"JPEG": MediaType.JPEG, "MPO": MediaType.JPEG, "PNG": MediaType.PNG, "WEBP": MediaType.WEBP}
_PDF_START = re.compile(rb"%PDF-(1\.[0-7]|2\.0)[\r\n ]")
_PDF_END_WITHIN = 2048


@dataclass(frozen=True, slots=True)
class Accepted:
    """A file as it is to be stored. Width, height in pixels and a JPEG thumbnail for a photo only.

    held: in place of the content, a video as it was sent, which is never read into memory as a whole.
    """

    kind: MediaType
    name: str
    content: bytes
    width: int | None = None
    height: int | None = None
    thumbnail: bytes = b""
    held: File[bytes] | None = None
    duration_s: float | None = None

    @property
    def to_store(self) -> File[bytes]:
        """What is written to the disk."""
        return self.held or ContentFile(self.content)

    @property
    def is_video(self) -> bool:
        """Whether it must be described in words for who cannot see it."""
        return self.kind in VIDEOS


def accept(file: File[bytes], *, keep_location: bool = False) -> Accepted:
    """The file as it may be stored. Raises ValidationError naming the file and what to do.

    keep_location: keep what the camera wrote into a photo, its place among it, because somebody asked for it.
    """
    name = plain_name(file.name or "")
    size = file.size or 0
    file.seek(0)
    if looks_like_video(file.read(12)):
        return accept_video(file, name, size, keep_location=keep_location)
    if size > MOST_BYTES:
        params = {"name": name, "size": fixed(size / 1024**2, 1), "most": MOST_BYTES // 1024**2}
        raise ValidationError(_(TOO_LARGE), params=params, code="too_large")
    file.seek(0)
    content = file.read(MOST_BYTES + 1)
    if not content:
        raise ValidationError(_(EMPTY), params={"name": name}, code="empty")
    if content[:5] == b"%PDF-":
        return _pdf(content, name)
    return _photo(content, name, keep_location)


def accept_video(file: File[bytes], name: str, size: int, *, keep_location: bool = False) -> Accepted:
    """A video as it may be stored: whole, with a picture, and without what the camera wrote into it unless asked."""
    most = settings.VIDEO_MOST_MB
    if size > most * 1024**2:
        params = {"name": name, "size": fixed(size / 1024**2, 1), "most": most}
        raise ValidationError(_(VIDEO_TOO_LARGE), params=params, code="too_large")
    try:
        video = read_video(cast("BinaryIO", file), size)
    except NotAVideoError as error:
        raise ValidationError(_(NOT_READABLE), params={"name": name}, code="not_readable") from error
    except BrokenVideoError as error:
        raise ValidationError(_(VIDEO_BROKEN), params={"name": name}, code="broken") from error
    if not keep_location:
        for span in video.about_camera:
            _blank(file, span)
    file.seek(0)
    return Accepted(video.kind, name, b"", held=file, duration_s=video.duration_s)


def _blank(file: File[bytes], span: Span) -> None:
    """Make a box one that players skip, of the same length, so that nothing else in the file moves."""
    file.seek(span.kind_at)
    file.write(b"free")
    file.seek(span.start)
    left = span.end - span.start
    while left > 0:
        left -= file.write(bytes(min(left, BLANK_AT_ONCE)))


def _pdf(content: bytes, name: str) -> Accepted:
    if not _PDF_START.match(content) or b"%%EOF" not in content[-_PDF_END_WITHIN:]:
        raise ValidationError(_(BROKEN), params={"name": name}, code="broken")
    return Accepted(MediaType.PDF, name, content)


def _photo(content: bytes, name: str, keep_location: bool) -> Accepted:
    try:
        with Image.open(BytesIO(content), formats=("JPEG", "PNG", "WEBP")) as photo:
            kind = _KINDS[photo.format or ""]
            _refuse_bomb(photo, name)
            with _ONE_AT_A_TIME:
                return _made_anew(photo, kind, name, keep_location)
    except ValidationError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        params = {"name": name, "most": MOST_PIXELS // 1_000_000}
        raise ValidationError(_(FAR_TOO_MANY), params=params, code="too_many_pixels") from error
    except UnidentifiedImageError as error:
        raise ValidationError(_(NOT_READABLE), params={"name": name}, code="not_readable") from error
    # A decoder meets broken input in many ways; each of them means the same to the person.
    except (OSError, ValueError, SyntaxError, KeyError, EOFError, IndexError, OverflowError) as error:
        raise ValidationError(_(BROKEN), params={"name": name}, code="broken") from error


def _refuse_bomb(photo: Image.Image, name: str) -> None:
    """Told from the header, before a single pixel is decoded."""
    width, height = photo.size
    most = MOST_PIXELS if photo.format in ("JPEG", "MPO") else MOST_PIXELS_IN_WHOLE
    if width * height > most or max(width, height) > LONGEST_SIDE_READ:
        params = {"name": name, "width": width, "height": height, "most": most // 1_000_000}
        raise ValidationError(_(TOO_MANY_PIXELS), params=params, code="too_many_pixels")


def _made_anew(photo: Image.Image, kind: MediaType, name: str, keep_location: bool) -> Accepted:
    # A JPEG is decoded at a half, a quarter or an eighth of its size, as long as that is enough.
    photo.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
    photo.load()
    colours = "RGBA" if kind is not MediaType.JPEG and photo.has_transparency_data else "RGB"
    small_enough = _no_larger(photo, colours)
    upright = ImageOps.exif_transpose(small_enough)
    exif = _written_by_camera(upright) if keep_location else b""
    plain = _bare(upright)
    small = plain.convert("RGB")
    small.thumbnail((THUMBNAIL_SIDE, THUMBNAIL_SIDE), Image.Resampling.LANCZOS)
    return Accepted(
        kind=kind,
        name=name,
        content=_encoded(plain, kind, exif),
        width=plain.width,
        height=plain.height,
        thumbnail=_encoded(small, MediaType.JPEG, b""),
    )


def _no_larger(photo: Image.Image, colours: str) -> Image.Image:
    """In plain colours and at most LONGEST_SIDE, made smaller before anything else makes a copy of it."""
    whole = max(photo.size)
    if whole > 2 * LONGEST_SIDE:
        photo = photo.reduce(whole // (2 * LONGEST_SIDE) + 1) if photo.mode in ("RGB", "RGBA", "L") else photo
    plain = photo if photo.mode == colours else photo.convert(colours)
    plain.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    plain.info.setdefault("exif", photo.info.get("exif", b""))
    return plain


def _bare(picture: Image.Image) -> Image.Image:
    """The pixels alone: comments, profiles and text chunks stay behind."""
    bare = Image.new(picture.mode, picture.size)
    bare.paste(picture)
    return bare


def _written_by_camera(photo: Image.Image) -> bytes:
    exif = photo.getexif().tobytes()
    return exif if len(exif) <= MOST_EXIF_BYTES else b""


def _encoded(picture: Image.Image, kind: MediaType, exif: bytes) -> bytes:
    out = BytesIO()
    options: dict[str, object] = {"exif": exif} if exif else {}
    if kind is MediaType.PNG:
        picture.save(out, "PNG", **options)
    elif kind is MediaType.WEBP:
        picture.save(out, "WEBP", quality=86, **options)
    else:
        picture.save(out, "JPEG", quality=86, optimize=True, **options)
    return out.getvalue()


@dataclass(frozen=True, slots=True)
class Sent:
    """What a form received at once: files that may be stored, what they show, what was asked to be kept.

    device_id: of the form, where the files are all it sends.
    """

    files: tuple[Accepted, ...] = ()
    caption: str = ""
    keep_location: bool = False
    device_id: UUID | None = None


NOTHING_SENT = Sent()
