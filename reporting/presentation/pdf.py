"""From plain data to a PDF: data go in as JSON and pictures as bytes, so that no text can become code."""

import json
import logging
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import typst

from qa.models import Attachment
from reporting.presentation.handover import Handover

TEMPLATES = Path(__file__).parent / "typst"
TAGGED: Literal["ua-1"] = "ua-1"  # PDF/UA-1, ISO 14289-1: readable by a screen reader
log = logging.getLogger(__name__)


def handover_pdf(content: Handover) -> bytes:
    """The handover record as a tagged PDF."""
    data = asdict(content)
    drawing = data.pop("drawing")
    pictures = thumbnails(data)
    data["has_drawing"], data["drawing_problem"] = bool(drawing["svg"]), drawing["problem"]
    data["pictures"] = sorted(pictures)
    files = {f"{key}.jpg": picture for key, picture in pictures.items()}
    if drawing["svg"]:
        files["section.svg"] = drawing["svg"].encode()
    return compile_pdf("handover.typ", data, files)


def thumbnails(data: Mapping[str, Any]) -> dict[str, bytes]:
    """Small pictures of the photos named in the data, by key; one missing on the disk is left out."""
    found = {}
    for row in Attachment.objects.active().filter(pk__in=set(_photo_keys(data))):
        try:
            with row.thumbnail.open("rb") as held:
                found[str(row.pk)] = held.read()
        except FileNotFoundError:
            log.warning("The picture of file %s is missing on the disk; the PDF is made without it.", row.pk)
    return found


def _photo_keys(data: Any) -> Iterator[str]:
    if isinstance(data, Mapping):
        if data.get("is_photo"):
            yield data["key"]
        for value in data.values():
            yield from _photo_keys(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from _photo_keys(value)


def compile_pdf(template: str, data: Mapping[str, Any], files: Mapping[str, bytes]) -> bytes:
    """A PDF of a template with its data. files: pictures by name.

    The compiler reads from a folder of its own that holds nothing else.
    """
    with TemporaryDirectory(prefix="paper-") as name:
        folder = Path(name)
        for source in (template, "look.typ"):
            (folder / source).write_bytes((TEMPLATES / source).read_bytes())
        (folder / "data.json").write_text(json.dumps(data), encoding="utf-8")
        for file_name, content in files.items():
            (folder / file_name).write_bytes(content)
        return _compiled(folder / template)


def _compiled(main: Path) -> bytes:
    """Tagged to PDF/UA-1; text with a sign that no font here has cannot be, and is set without that promise."""
    try:
        return typst.compile(str(main), root=str(main.parent), format="pdf", pdf_standards=TAGGED)
    except typst.TypstError as error:
        log.warning("%s could not be made as PDF/UA-1: %s", main.name, error)
        return typst.compile(str(main), root=str(main.parent), format="pdf")
