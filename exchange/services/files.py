"""The sheets of files that somebody sent, read by a program of its own."""

import json
import subprocess
import sys
import zipfile
from collections.abc import Iterator, Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile, File
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.file_kinds import plain_name
from core.calc.format import fixed
from exchange.calc.headers import suggest_columns, suggest_kind
from exchange.calc.kinds import SheetKind
from exchange.calc.payloads import LearntColumns, Matching, SheetHead, SheetHeads, SheetMatch
from exchange.calc.reading import MOST_BYTES, header_place, value_of
from exchange.calc.rows import Sheet
from exchange.calc.ways import Value, shown
from exchange.models import ColumnTemplate, DataImport

LONGEST_READING_S = 60
SAMPLES = 3
MOST_FILES = 12
BROKEN_FILE = gettext_noop(
    "%(name)s cannot be read: it is broken, or holds far more than a sheet of records. "
    "Save it anew as .xlsx or .csv and send that."
)
TOO_LARGE = gettext_noop(
    "%(name)s has %(size)s MB; at most %(most)d MB are read. Send the rows in several smaller files."
)


def pack(files: Sequence[File[bytes]]) -> ContentFile[bytes]:
    """The files as one, as they were sent. Raises ValidationError for one that is too large."""
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, file in enumerate(files):
            name, size = plain_name(file.name or "sheet"), file.size or 0
            if size > MOST_BYTES:
                params = {"name": name, "size": fixed(size / 1024**2, 1), "most": MOST_BYTES // 1024**2}
                raise ValidationError({"sheets": ValidationError(_(TOO_LARGE), params=params)})
            archive.writestr(f"{number}/{name}", file.read())
    return ContentFile(packed.getvalue())


def read_packed(content: File[bytes]) -> list[tuple[str, list[list[Value]]]]:
    """Name and rows of each sheet of the files, the row of headers first. Raises ValidationError in words."""
    found: list[tuple[str, list[list[Any]]]] = []
    with zipfile.ZipFile(content) as archive:
        parts = archive.namelist()
        for part in parts:
            name = part.partition("/")[2]
            sheets = read_apart(name, archive.read(part))
            found += [(title if len(parts) == 1 else f"{title} ({name})", rows) for title, rows in sheets]
    return found


def read_apart(name: str, content: bytes) -> list[tuple[str, list[list[Any]]]]:
    """The sheets of one file, read where it can hurt nothing but its reader. Raises ValidationError in words."""
    program = [sys.executable, "-m", "exchange.calc.reading", name]
    try:
        done = subprocess.run(
            program,
            input=content,
            capture_output=True,
            cwd=Path(settings.BASE_DIR),
            timeout=LONGEST_READING_S,
        )
    except subprocess.TimeoutExpired as error:
        raise ValidationError({"sheets": ValidationError(_(BROKEN_FILE), params={"name": name})}) from error
    answer = json.loads(done.stdout) if done.returncode == 0 and done.stdout else {}
    if "refused" in answer:
        raise ValidationError({"sheets": _(answer["refused"]).format(**answer["values"])})
    if "sheets" not in answer:
        raise ValidationError({"sheets": ValidationError(_(BROKEN_FILE), params={"name": name})})
    return [(str(title), rows) for title, rows in answer["sheets"]]


def head_of(name: str, rows: Sequence[Sequence[Any]]) -> SheetHead:
    """What is kept of a sheet for the page that matches its columns."""
    place = header_place(rows)
    headers = tuple(shown(value_of(cell)) for cell in rows[place])
    below = [row for row in rows[place + 1 :] if any(cell not in (None, "") for cell in row)]
    samples = tuple(tuple(shown(value_of(cell)) for cell in row[: len(headers)]) for row in below[:SAMPLES])
    return SheetHead(name, headers, samples, len(below))


def suggested(heads: SheetHeads, templates: dict[SheetKind, LearntColumns]) -> Matching:
    """What the sheets seem to hold."""
    return Matching(tuple(_suggested(head, templates) for head in heads.sheets))


def _suggested(head: SheetHead, templates: dict[SheetKind, LearntColumns]) -> SheetMatch:
    kind = suggest_kind(head.name.split(" (")[0], head.headers)
    if kind is None:
        return SheetMatch("", ("",) * len(head.headers))
    return _of_kind(head, kind, templates)


def templates_of(organisation: Any) -> dict[SheetKind, LearntColumns]:
    """What the firm's people matched before."""
    rows = ColumnTemplate.objects.of_organisation(organisation)
    return {SheetKind(row.kind): row.columns for row in rows if row.columns}


def sheets_of(row: DataImport) -> Iterator[Sheet]:
    """The sheets of an import that are to be taken in, as they were matched."""
    matching = row.matching or Matching()
    with row.content.open("rb") as content:
        read = read_packed(content)
    for (name, rows), match in zip(read, matching.sheets, strict=True):
        if match.kind:
            place = header_place(rows)
            headers = tuple(shown(value_of(cell)) for cell in rows[place])
            below = [[value_of(cell) for cell in line] for line in rows[place + 1 :]]
            yield Sheet(name, SheetKind(match.kind), headers, match.columns, below, place + 2)


def matched_anew(organisation: Any, heads: SheetHeads, sent: Sequence[SheetMatch]) -> Matching:
    """What was said of the sheets; where it was said that one holds something else, what its columns seem to hold.

    sent: of each sheet its kind, and the columns as they were sent, none where they belong to another kind.
    """
    templates = templates_of(organisation)
    return Matching(
        tuple(
            match if match.columns or not match.kind else _of_kind(head, SheetKind(match.kind), templates)
            for head, match in zip(heads.sheets, sent, strict=True)
        )
    )


def _of_kind(head: SheetHead, kind: SheetKind, templates: dict[SheetKind, LearntColumns]) -> SheetMatch:
    learnt = templates[kind].columns if kind in templates else None
    return SheetMatch(kind.value, suggest_columns(kind, head.headers, learnt))
