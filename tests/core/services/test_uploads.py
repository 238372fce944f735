"""Hostile and broken files, told by their content."""

import struct
import zlib
from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image, PngImagePlugin

from core.calc.file_kinds import MediaType, download_name, plain_name
from core.services import uploads
from core.services.uploads import accept

PLACE = {ExifTags.GPS.GPSLatitudeRef: "N", ExifTags.GPS.GPSLatitude: (51.0, 30.0, 12.0)}


def photo(form="JPEG", size=(40, 30), colour="red", **options):
    out = BytesIO()
    Image.new("RGB", size, colour).save(out, form, **options)
    return out.getvalue()


def camera_photo(form="JPEG", orientation=1):
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Camera of nobody"
    exif[ExifTags.Base.Orientation] = orientation
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(PLACE)
    return photo(form, exif=exif)


def sent(content, name="photo.jpg", declared="image/jpeg"):
    return SimpleUploadedFile(name, content, content_type=declared)


def reopened(accepted):
    return Image.open(BytesIO(accepted.content))


@pytest.mark.parametrize(
    ("form", "kind"), [("JPEG", MediaType.JPEG), ("PNG", MediaType.PNG), ("WEBP", MediaType.WEBP)]
)
def test_a_photo_is_told_by_its_content_whatever_it_is_called(form, kind):
    accepted = accept(sent(photo(form), "report.exe", "application/octet-stream"))

    assert accepted.kind is kind
    assert reopened(accepted).size == (accepted.width, accepted.height) == (40, 30)
    assert Image.open(BytesIO(accepted.thumbnail)).format == "JPEG"


@pytest.mark.parametrize(
    "content",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"<!DOCTYPE html><script>alert(1)</script>",
        b"MZ\x90\x00 a program",
        b"GIF89a" + b"\x00" * 40,
        b"PK\x03\x04 an archive",
        b" %PDF-1.7 with a blank before it",
        b"\x00" * 200,
    ],
)
@pytest.mark.parametrize("name", ["photo.jpg", "photo.png", "paper.pdf"])
def test_anything_else_is_refused_whatever_its_name_and_declared_type_say(content, name):
    with pytest.raises(ValidationError, match=r"is not a JPEG, PNG or WebP photo, .* nor a PDF"):
        accept(sent(content, name))


def test_what_is_hidden_behind_a_photo_is_not_kept():
    content = photo() + b"<script>alert(document.cookie)</script>"

    assert b"<script>" not in accept(sent(content)).content


def test_a_comment_or_text_inside_a_photo_is_not_kept():
    text = PngImagePlugin.PngInfo()
    text.add_text("Comment", "<script>alert(1)</script>")

    assert b"<script>" not in accept(sent(photo("PNG", pnginfo=text))).content
    assert b"secret note" not in accept(sent(photo(comment=b"secret note"))).content


def test_a_photo_cut_off_half_way_is_refused():
    content = photo(size=(400, 300), colour="blue")

    with pytest.raises(ValidationError, match="cannot be read to its end"):
        accept(sent(content[: len(content) // 2]))


def bomb(width, height):
    """A PNG of a few hundred bytes that claims to be huge."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(b"\x00" * 1000)), (b"IEND", b""))
    body = b"".join(
        struct.pack(">I", len(d)) + k + d + struct.pack(">I", zlib.crc32(k + d)) for k, d in chunks
    )
    return b"\x89PNG\r\n\x1a\n" + body


@pytest.mark.parametrize("side", [8_000, 10_000, 60_000])
def test_a_picture_of_too_many_pixels_is_refused_before_it_is_decoded(side, monkeypatch):
    monkeypatch.setattr(Image.Image, "load", lambda *a: pytest.fail("decoded"))

    with pytest.raises(ValidationError, match="million"):
        accept(sent(bomb(side, side), "small.png"))


def test_a_file_that_is_too_large_is_refused_after_its_first_bytes(monkeypatch):
    monkeypatch.setattr(uploads, "MOST_BYTES", 100)
    file = File(BytesIO(photo()), "photo.jpg")
    start = file.file.read(12)
    once = iter([start])
    monkeypatch.setattr(file.file, "read", lambda *a: next(once), raising=False)

    with pytest.raises(ValidationError, match="at most"):
        accept(file)


def test_an_empty_file_is_refused():
    with pytest.raises(ValidationError, match="is empty"):
        accept(sent(b""))


def test_place_and_camera_are_taken_out():
    original = Image.open(BytesIO(camera_photo()))
    assert original.getexif().get_ifd(ExifTags.IFD.GPSInfo)

    for form in ("JPEG", "PNG", "WEBP"):
        kept = reopened(accept(sent(camera_photo(form)))).getexif()
        assert dict(kept) == {}
        assert dict(kept.get_ifd(ExifTags.IFD.GPSInfo)) == {}


def test_place_and_camera_are_kept_when_asked_for():
    kept = reopened(accept(sent(camera_photo()), keep_location=True)).getexif()

    assert kept[ExifTags.Base.Make] == "Camera of nobody"
    assert kept.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] == (51.0, 30.0, 12.0)


@pytest.mark.parametrize("keep_location", [True, False])
def test_a_photo_taken_on_its_side_is_stored_upright(keep_location):
    accepted = accept(sent(camera_photo(orientation=6)), keep_location=keep_location)

    assert (accepted.width, accepted.height) == (30, 40)
    assert reopened(accepted).getexif().get(ExifTags.Base.Orientation, 1) == 1


def test_a_large_photo_is_made_smaller_and_its_thumbnail_small():
    accepted = accept(sent(photo(size=(4000, 1000))))

    assert (accepted.width, accepted.height) == (3200, 800)
    assert max(Image.open(BytesIO(accepted.thumbnail)).size) == 640


PDF = b"%PDF-1.7\n1 0 obj<<>>endobj\ntrailer<<>>\n%%EOF\n"


def test_a_pdf_is_kept_as_it_is():
    accepted = accept(sent(PDF, "sieve.pdf", "text/html"))

    assert (accepted.kind, accepted.content, accepted.thumbnail) == (MediaType.PDF, PDF, b"")


@pytest.mark.parametrize("content", [b"%PDF-1.7\nno end", b"%PDF-9.9\n%%EOF", b"%PDF-<html>%%EOF"])
def test_a_pdf_without_a_head_or_an_end_is_refused(content):
    with pytest.raises(ValidationError, match="cannot be read to its end"):
        accept(sent(content, "paper.pdf"))


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\Users\\me\\joint.jpg", "joint.jpg"),
        ("evil\r\nSet-Cookie: a=b.jpg", "evilSet-Cookie: a=b.jpg"),
        ("photo\u202egpj.exe", "photogpj.exe"),
        ("..", "file without a name"),
        ("", "file without a name"),
        ("a" * 300 + ".jpg", "a" * 120),
        ("Fugenfüllung süd.jpg", "Fugenfüllung süd.jpg"),
    ],
)
def test_a_name_is_only_text_without_folders_or_marks(given, shown):
    assert plain_name(given) == shown


@pytest.mark.parametrize(
    ("name", "kind", "handed_out"),
    [
        ("joint.jpg", MediaType.JPEG, "joint.jpg"),
        ("JOINT.JPG", MediaType.JPEG, "JOINT.jpg"),
        ("page.html", MediaType.JPEG, "page.html.jpg"),
        ("sieve", MediaType.PDF, "sieve.pdf"),
    ],
)
def test_a_file_is_handed_out_under_a_name_that_ends_as_what_it_is(name, kind, handed_out):
    assert download_name(name, kind) == handed_out
