"""What the files of an archive hold, for programs: W3C, “Metadata Vocabulary for Tabular Data” (2015).

Units are no part of that vocabulary; they stand as `schema:unitCode`, in the codes of UCUM, as its section 5.8 on
common properties allows.
"""

from collections.abc import Sequence
from typing import Any

from exchange.calc.tables import NOTHING, Kind, Table, TableColumn

CONTEXT = ["http://www.w3.org/ns/csvw", {"@language": "en"}]
NAME = (
    "csv-metadata.json"  # where processors look for it: “Model for Tabular Data and Metadata on the Web”, 5.3
)
UUID_FORMAT = "[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"
NOTES = (
    "Values are as they were recorded; measured columns are in SI units, whose UCUM code stands in schema:unitCode.",
    "Readings of infiltration tests are in the units of the row's unit_system, as they were taken.",
    "A text that a spreadsheet would take for a formula, or that begins with an apostrophe, has one before it.",
    "Rows whose state is replaced or void are kept and count nowhere. Tables ending in _history hold earlier versions.",
    "Where a figure comes from a document, its source stands in the columns named source, citation or agreed_source.",
)


def metadata(tables: Sequence[Table], made_at: str, firm: str) -> dict[str, Any]:
    """The description of all files of an archive."""
    return {
        "@context": CONTEXT,
        "@type": "TableGroup",
        "dc:title": f"Everything recorded by {firm}",
        "dc:created": made_at,
        "dialect": {"encoding": "utf-8", "lineTerminators": ["\r\n"], "doubleQuote": True},
        "notes": [{"schema:text": note} for note in NOTES],
        "tables": [_table(table) for table in tables],
    }


def _table(table: Table) -> dict[str, Any]:
    schema: dict[str, Any] = {
        "columns": [_column(column) for column in table.columns],
        "primaryKey": table.key,
        "foreignKeys": [_foreign_key(column) for column in table.columns if column.refers_to],
    }
    if not schema["foreignKeys"]:
        del schema["foreignKeys"]
    return {"url": f"{table.name}.csv", "dc:description": table.about, "tableSchema": schema}


def _foreign_key(column: TableColumn) -> dict[str, Any]:
    there = {"resource": f"{column.refers_to}.csv", "columnReference": "id"}
    return {"columnReference": column.name, "reference": there}


def _column(column: TableColumn) -> dict[str, Any]:
    base = column.kind.datatype
    found: dict[str, Any] = {
        "name": column.name,
        "titles": column.name,
        "dc:title": column.label,
        "datatype": {"base": base, "format": UUID_FORMAT} if column.kind is Kind.ID else base,
        "required": column.required,
    }
    if column.kind in (Kind.TEXT, Kind.FILE):
        found["null"] = NOTHING
    if column.note:
        found["dc:description"] = column.note
    if column.unit:
        found["schema:unitCode"] = column.unit
    if column.choices:
        found["schema:valueReference"] = [
            {"schema:value": value, "schema:name": said} for value, said in column.choices
        ]
    return found
