"""Lists as files for other programs."""

import re
from typing import Any

from django.http import HttpResponse
from django_tables2 import Table
from django_tables2.export.export import TableExport
from tablib import Dataset

# A cell that begins so is worked out by spreadsheet programs instead of being shown; a name must stay a name.
# Source: OWASP, CSV injection: = + - @, tab and carriage return.
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")  # what a spreadsheet file cannot hold


class SafeExport(TableExport):
    """A table's rows as CSV or XLSX in which no text is taken for a formula."""

    def table_to_dataset(
        self, table: Table, exclude_columns: Any, dataset_kwargs: dict[str, Any] | None = None
    ) -> Dataset:
        """All rows of the table, headers first."""
        rows = iter(table.as_values(exclude_columns=exclude_columns))
        dataset = Dataset(title="Rainthrough", headers=next(rows))
        for row in rows:
            dataset.append([plain_cell(value) for value in row])
        return dataset


def plain_cell(value: Any) -> Any:
    """A text that shows as itself in a spreadsheet; numbers and empty cells stay as they are."""
    if not isinstance(value, str):
        return value
    text = _CONTROL.sub("", value)
    return f"'{text}" if text.startswith(_STARTS_A_FORMULA) else text


def export_response(table: Table, kind: str, name: str) -> HttpResponse:
    """The table as a file to take away. `kind` is csv or xlsx."""
    response: HttpResponse = SafeExport(kind, table).response(f"{name}.{kind}")
    return response
