"""What other programs make of an archive: its tables, its sheets, its map."""

import csv
import json
import zipfile
from datetime import date, datetime, time
from decimal import Decimal
from io import BytesIO, StringIO

import pytest
from csvw import TableGroup
from python_calamine import CalamineWorkbook
from shapely.geometry import Point, Polygon, shape

from exchange.calc.tables import Kind
from exchange.selectors.tables import all_tables
from tests.exchange.archives import archive_of
from tests.exchange.services.test_restoring import fill_the_rest
from tests.exchange.sheets import example_sheets, taken_in

READ_AS = {
    Kind.NUMBER: float, Kind.MONEY: Decimal, Kind.WHOLE: int, Kind.YES: bool, Kind.DAY: date, Kind.INSTANT: datetime,
    Kind.CLOCK: time | datetime, Kind.TEXT: str, Kind.ID: str,
}  # fmt: skip


@pytest.fixture
def firm(furnished):
    taken_in(furnished, *example_sheets())
    fill_the_rest(furnished)
    return furnished


@pytest.fixture
def folder(firm, tmp_path):
    with zipfile.ZipFile(archive_of(firm.organisation)) as archive:
        archive.extractall(tmp_path)
    return tmp_path


def test_every_table_is_read_by_its_description_with_its_types_keys_and_references(folder):
    """Python package csvw: W3C, Metadata Vocabulary for Tabular Data."""
    group = TableGroup.from_file(folder / "csv" / "csv-metadata.json")

    group.check_referential_integrity()
    for table in group.tables:
        assert table.check_primary_key()
    read = {str(table.url): list(table.iterdicts(strict=True)) for table in group.tables}

    assert set(read) == {path.name for path in (folder / "csv").glob("*.csv")}
    for described in all_tables():
        rows = read[f"{described.name}.csv"]
        with (folder / "csv" / f"{described.name}.csv").open(newline="") as opened:
            assert len(rows) == sum(1 for _ in csv.reader(opened)) - 1
        for column in described.columns:
            values = [row[column.name] for row in rows if row[column.name] is not None]
            kind = READ_AS.get(column.kind)
            assert kind is None or all(type(value) is kind or isinstance(value, kind) for value in values)
            assert len(values) == len(rows) or not column.required


def test_every_sheet_holds_what_its_table_holds(folder):
    """python-calamine reads the workbook; instants are text there, and data too."""
    book = CalamineWorkbook.from_filelike(BytesIO((folder / "everything.xlsx").read_bytes()))
    described = {table.name: table for table in all_tables()}

    assert {name[:31] for name in described} == {name[:31] for name in book.sheet_names}
    for name in book.sheet_names:
        header, *rows = book.get_sheet_by_name(name).to_python()
        path = folder / "csv" / f"{name}.csv"
        lines = list(csv.DictReader(StringIO(path.read_bytes().decode(), newline="")))
        kinds = {column.name: column.kind for column in described[name].columns}
        assert len(rows) == len(lines)
        for row, line in zip(rows, lines, strict=True):
            for column, cell in zip(header, row, strict=True):
                assert alike(cell, line[column], kinds[column]), (name, column, cell, line[column])


def alike(cell, written, kind):
    if written in ("", "\u2400"):
        return cell == ""
    if kind in (Kind.NUMBER, Kind.WHOLE, Kind.MONEY):
        return float(cell) == pytest.approx(float(written), rel=1e-12)
    if kind is Kind.YES:
        return cell is (written == "true")
    if kind is Kind.DAY:
        return cell == date.fromisoformat(written)
    if kind is Kind.CLOCK:
        return cell == time.fromisoformat(written)
    return str(cell).strip() == written.strip()


def test_the_map_is_as_the_standard_asks_and_another_program_reads_it(folder, firm):
    """RFC 7946: longitude first (3.1.1), rings closed and against the clock (3.1.6), boxes (5). Read by shapely."""
    made = json.loads((folder / "sites.geojson").read_text())

    assert made["type"] == "FeatureCollection"
    assert "crs" not in made
    shapes = {}
    for feature in made["features"]:
        assert feature["type"] == "Feature"
        assert {"type", "geometry", "properties"} <= feature.keys()
        if feature["geometry"] is not None:
            shapes[feature["id"]] = shape(feature["geometry"])
    for found in shapes.values():
        assert found.is_valid
        assert isinstance(found, Point | Polygon)
        west, south, east, north = found.bounds
        assert -180 <= west <= east <= 180
        assert -90 <= south <= north <= 90
        if isinstance(found, Polygon):
            assert found.exterior.is_ccw
            assert found.exterior.is_closed
    located = firm.site.latitude_deg is not None
    assert (str(firm.site.pk) in shapes) is located
