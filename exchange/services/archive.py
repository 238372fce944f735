"""Writing everything a firm has into one archive."""

import csv
import json
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from io import TextIOWrapper
from typing import IO, Any

from django.utils import translation
from django.utils.timezone import now
from openpyxl import Workbook

from accounts.models import Organisation, User
from core.calc.translation import SOURCE_LANGUAGE
from core.presentation.exports import plain_cell
from core.services.digests import digest_of
from core.services.one_moment import one_moment
from exchange.calc.csvw import NAME, metadata
from exchange.calc.geojson import Place, collection
from exchange.calc.tables import Kind, Table, written
from exchange.selectors.tables import (
    NOT_EXPORTED,
    PEOPLE,
    StoredTable,
    all_tables,
    kind_of,
    stored_tables,
)
from qa.models import Outline, Site, Surface

FORMAT, EDITION = "rainthrough-archive", 1
MANIFEST, README, GEOJSON, SHEETS = "manifest.json", "README.txt", "sites.geojson", "everything.xlsx"
MOST_SHEET_ROWS = 1_000_000  # a sheet has 1,048,576 (ECMA-376)
AT_ONCE = 500
_ABOUT = """Everything recorded by {firm}, as of {day}.

csv/             a file for each table, in UTF-8; csv/{metadata} says what each column holds, in which unit and how
                 the tables belong together (W3C, Metadata Vocabulary for Tabular Data)
{sheets}  the same as a spreadsheet, to look at
{geojson}    sites and outlines (RFC 7946)
files/           photos, videos and documents as they are stored
{manifest}    what is here, with SHA-256 of each file

An empty firm takes it in again, under Firm, "Take everything away".

Not in here, or here to be read only:
"""


@dataclass(slots=True)
class Packed:
    """What an archive holds so far. files: where each lies in storage, what it is of, and its place in the archive."""

    tables: dict[str, dict[str, Any]] = field(default_factory=dict)
    files: list[dict[str, Any]] = field(default_factory=list)
    stored: list[tuple[Any, dict[str, Any]]] = field(default_factory=list)

    @property
    def rows(self) -> int:
        """How many rows of tables it holds."""
        return sum(int(table["rows"]) for table in self.tables.values())


def write_archive(*, organisation: Organisation, to: IO[bytes]) -> Packed:
    """Write everything of one moment; returns what was written. A stored file that is missing is named as such.

    It is in English whoever asks for it, since programs read it, and people of other firms.
    """
    with translation.override(SOURCE_LANGUAGE):
        return _write(organisation, to)


def _write(organisation: Organisation, to: IO[bytes]) -> Packed:
    packed, made_at = Packed(), now()
    book = Workbook(write_only=True)
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as archive:
        with one_moment():
            _write_tables(archive, organisation, packed, book)
            places = list(_places(organisation))
        described = metadata(all_tables(), made_at.isoformat(), organisation.name)
        archive.writestr(f"csv/{NAME}", _json(described))
        archive.writestr(GEOJSON, _json(collection(places)))
        with archive.open(SHEETS, "w", force_zip64=True) as sheets:
            book.save(sheets)
        for content, entry in packed.stored:
            _write_file(archive, content, entry)
        archive.writestr(README, _readme(organisation, f"{made_at:%Y-%m-%d}"))
        archive.writestr(MANIFEST, _json(_manifest(organisation, made_at.isoformat(), packed)))
    return packed


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1, default=str)


def _manifest(organisation: Organisation, made_at: str, packed: Packed) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "edition": EDITION,
        "made_at": made_at,
        "firm": organisation.name,
        "tables": packed.tables,
        "files": packed.files,
    }


def _readme(organisation: Organisation, day: str) -> str:
    names = {"metadata": NAME, "sheets": SHEETS, "geojson": GEOJSON, "manifest": MANIFEST}
    head = _ABOUT.format(firm=organisation.name, day=day, **names)
    left_out = [f"{label.partition('.')[2]}: {why}" for label, why in NOT_EXPORTED.items()]
    to_read = [
        f"{table.name}: to be read only. {table.why_not}" for table in all_tables() if not table.comes_back
    ]
    return head + "\n".join([*left_out, *to_read]) + "\n"


# ---- tables ------------------------------------------------------------------------------------------


def _write_tables(
    archive: zipfile.ZipFile, organisation: Organisation, packed: Packed, book: Workbook
) -> None:
    people: set[int] = set()
    for stored in stored_tables():
        _write_table(archive, stored.table, _lines(stored, organisation, packed, people), packed, book)
    _write_table(archive, PEOPLE, _people(people), packed, book)


def _lines(
    stored: StoredTable, organisation: Organisation, packed: Packed, people: set[int]
) -> Iterator[list[Any]]:
    fields = [(f.attname, kind_of(f), f.is_relation and f.related_model is User) for f in stored.fields]
    for row in stored.rows(organisation).iterator(AT_ONCE):
        line = []
        for name, kind, of_person in fields:
            value = getattr(row, name)
            if of_person and value is not None:
                people.add(value)
            line.append(_file_entry(stored, row, name, packed) if kind is Kind.FILE else value)
        yield line


def _file_entry(stored: StoredTable, row: Any, name: str, packed: Packed) -> str:
    """The place of a file in the archive, noted down to be packed once the rows are read."""
    content = getattr(row, name)
    if not content:
        return ""
    path = f"files/{stored.table.name}/{row.pk}-{name}"
    entry = {"path": path, "table": stored.table.name, "row": str(row.pk), "column": name}
    packed.stored.append((content, entry))
    packed.files.append(entry)
    return path


def _people(ids: set[int]) -> Iterator[list[Any]]:
    for person in User.objects.filter(pk__in=ids).order_by("pk"):
        yield [person.pk, person.email, person.full_name]


class _Counted:
    """A file that is written on, with its digest."""

    def __init__(self, to: IO[bytes]) -> None:
        self.to, self.digest = to, sha256()

    def write(self, data: bytes) -> int:
        self.digest.update(data)
        return self.to.write(data)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.to, name)


def _write_table(
    archive: zipfile.ZipFile, table: Table, lines: Iterator[Sequence[Any]], packed: Packed, book: Workbook
) -> None:
    kinds = [column.kind for column in table.columns]
    sheet, count = book.create_sheet(table.name), 0
    sheet.append([column.name for column in table.columns])
    with archive.open(f"csv/{table.name}.csv", "w", force_zip64=True) as opened:
        counted = _Counted(opened)
        text = TextIOWrapper(counted, encoding="utf-8", newline="")  # type: ignore[arg-type]
        writer = csv.writer(text)
        writer.writerow([column.name for column in table.columns])
        for line in lines:
            count += 1
            writer.writerow([written(value, kind) for value, kind in zip(line, kinds, strict=True)])
            if count <= MOST_SHEET_ROWS:
                sheet.append([_in_sheet(value, kind) for value, kind in zip(line, kinds, strict=True)])
        text.flush()
        text.detach()
    packed.tables[table.name] = {"rows": count, "sha256": counted.digest.hexdigest()}


def _in_sheet(value: Any, kind: Kind) -> Any:
    """A value in a spreadsheet: instants without their zone, which it does not know, data as text."""
    if value is None or kind in (Kind.NUMBER, Kind.WHOLE, Kind.MONEY, Kind.YES, Kind.DAY, Kind.CLOCK):
        return value
    return plain_cell(written(value, kind) if kind not in (Kind.TEXT, Kind.FILE) else str(value))


# ---- files and places ----------------------------------------------------------------------------------


def _write_file(archive: zipfile.ZipFile, content: Any, entry: dict[str, Any]) -> None:
    try:
        with content.open("rb") as stored, archive.open(entry["path"], "w", force_zip64=True) as into:
            digest, size = digest_of(stored, into)
    except FileNotFoundError:
        entry["missing"] = True
        return
    entry |= {"sha256": digest, "size": size}


def _places(organisation: Organisation) -> Iterator[Place]:
    """Sites as points, surfaces with an outline as areas."""
    sites = {site.pk: site for site in Site.objects.of_organisation(organisation).select_related("owner")}
    for site in sites.values():
        about: dict[str, Any] = {
            "kind": "site",
            "name": site.name,
            "address": site.address,
            "owner": site.owner.name,
        }
        yield Place(str(site.pk), about, site.latitude_deg, site.longitude_deg)
    outlines = {one.surface_id: one.plan for one in Outline.objects.of_organisation(organisation)}
    for surface in Surface.objects.of_organisation(organisation).filter(pk__in=outlines):
        site, plan = sites[surface.site_id], outlines[surface.pk]
        about = {
            "kind": "surface",
            "name": surface.name,
            "site": site.name,
            "type": surface.get_surface_type_display(),
            "area_m2": surface.area_m2,
            "opened_on": surface.opened_on.isoformat(),
        }
        yield Place(str(surface.pk), about, site.latitude_deg, site.longitude_deg, plan.outline)
