"""Lists as files for other programs, made row by row: neither the list nor the file is held as a whole."""

import csv
import re
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, islice
from typing import IO, Any, NamedTuple

from django.http import FileResponse, StreamingHttpResponse
from openpyxl import Workbook

# A cell that begins so is worked out by spreadsheet programs instead of being shown; a name must stay a name.
# Source: OWASP, CSV injection: = + - @, tab and carriage return.
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")  # what a spreadsheet file cannot hold
_LINES_A_PIECE = 500
_SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
EXPORTS = ("csv", "xlsx")

Rows = Iterable[Sequence[Any]]


def plain_cell(value: Any) -> Any:
    """A text that shows as itself in a spreadsheet; numbers and empty cells stay as they are."""
    if not isinstance(value, str):
        return value
    text = _CONTROL.sub("", value)
    return f"'{text}" if text.startswith(_STARTS_A_FORMULA) else text


def export_response(
    headers: Sequence[str], rows: Rows, kind: str, name: str
) -> StreamingHttpResponse | FileResponse:
    """The rows as a file to take away. `kind` is one of EXPORTS."""
    lines = ([plain_cell(value) for value in row] for row in chain([headers], rows))
    if kind == "xlsx":
        return FileResponse(_sheet(lines), as_attachment=True, filename=f"{name}.xlsx", content_type=_SHEET)
    disposition = {"Content-Disposition": f'attachment; filename="{name}.csv"'}
    return StreamingHttpResponse(_csv(lines), content_type="text/csv; charset=utf-8", headers=disposition)


class _Line:
    """A file that gives each line back instead of keeping it."""

    def write(self, line: str) -> str:
        return line


def _csv(lines: Iterator[list[Any]]) -> Iterator[str]:
    writer = csv.writer(_Line())
    while piece := "".join(writer.writerow(line) for line in islice(lines, _LINES_A_PIECE)):
        yield piece


class Sheet(NamedTuple):
    """One sheet of a workbook."""

    title: str
    headers: Sequence[str]
    rows: Rows


def workbook_response(sheets: Sequence[Sheet], name: str) -> FileResponse:
    """Several lists as the sheets of one spreadsheet to take away."""
    book = Workbook(write_only=True)
    for each in sheets:
        sheet = book.create_sheet(each.title)
        for row in chain([each.headers], each.rows):
            sheet.append([plain_cell(value) for value in row])
    return FileResponse(_saved(book), as_attachment=True, filename=f"{name}.xlsx", content_type=_SHEET)


def _sheet(lines: Iterator[list[Any]]) -> IO[bytes]:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Rainthrough")
    for line in lines:
        sheet.append(line)
    return _saved(book)


def _saved(book: Workbook) -> IO[bytes]:
    """A workbook in a file without a name, which is gone when it was sent."""
    file = tempfile.TemporaryFile()  # noqa: SIM115  # the answer closes it
    try:
        book.save(file)
    except BaseException:
        file.close()
        raise
    file.seek(0)
    return file
