"""Reads the sheets of one file. Runs as a program of its own, which may be killed: whoever sends a file chooses what is
in it, and a small file may unpack to more than a machine has.

    python -m exchange.calc.reading NAME < FILE

writes one JSON object: {"sheets": [[name, [[cell, …], …]], …]}, or {"refused": words, "values": {…}} with what stands
in the places of the words, which are English. A cell is a text, a number, true or false, null, or {"d": day},
{"t": time of day}, {"s": seconds}.
"""

import csv
import json
import re
import resource
import sys
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from io import BytesIO, StringIO
from itertools import islice
from typing import Any

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, PasswordError

from core.calc.promised import SHEET_MOST_MB, SHEET_MOST_ROWS
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from exchange.calc.columns import LONGEST_TEXT, MOST_COLUMNS
from exchange.calc.shown_cells import Shown, shown_cells

MOST_BYTES = SHEET_MOST_MB * 1024 * 1024
MOST_UNPACKED = 300 * 1024 * 1024
MOST_MEMORY = 3 * 1024**3
MOST_ROWS, MOST_SHEETS, MOST_PARTS = SHEET_MOST_ROWS, 40, 2_000
LINES_TRIED = 30
# A first line by which some programs say what parts the columns.
_SEPARATOR = re.compile(r"sep=([,;\t|])\r?\n")
HEADERS_WITHIN = 20  # rows above the headers, such as the name of the list

UNKNOWN = gettext_noop(
    "{name} is not a spreadsheet that can be read, whatever its name says. "
    "Save it as .xlsx, .ods, .xls or .csv and send that."
)
LOCKED = gettext_noop("{name} is protected by a password. Save a copy without one and send that.")
TOO_BIG = gettext_noop("{name} unpacks to more than {most} MB. Send the rows in several smaller files.")
TOO_WIDE = gettext_noop(
    "The sheet “{sheet}” of {name} has {width} columns; at most {most} are read. Remove those that hold nothing."
)
TOO_LONG = gettext_noop(
    "The sheet “{sheet}” of {name} has {height} rows; at most {most} are read. Send it in parts."
)
TOO_MANY = gettext_noop(
    "{name} has {count} sheets; at most {most} are read. Remove those that are not to be taken in."
)
UNCLOSED = gettext_noop(
    "A quotation mark opens in {name} and is not closed, so that rows run into one another. "
    "Save it anew as .xlsx or .csv and send that."
)
NOTHING = gettext_noop("{name} holds no rows. Its first row names the columns, the rows follow below it.")

Rows = list[list[Any]]


class RefusedFileError(Exception):
    """A file that is not read. words: for people, in English, with places for the values."""

    def __init__(self, words: str, **values: object) -> None:
        super().__init__(_(words).format(**values))
        self.words, self.values = words, values


def read_file(name: str, content: bytes) -> list[tuple[str, Rows]]:
    """Name and rows of every sheet that holds anything. Raises RefusedFileError."""
    sheets = _book(name, content) if _looks_like_book(content) else [_text_sheet(name, content)]
    filled = [(title, rows) for title, rows in sheets if rows]
    if not filled:
        raise RefusedFileError(NOTHING, name=name)
    return filled


def _looks_like_book(content: bytes) -> bool:
    """By how it begins: a zip archive, or the compound file of older spreadsheets (MS-CFB, 2.2)."""
    return content.startswith((b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"))


def _book(name: str, content: bytes) -> Iterator[tuple[str, Rows]]:
    if content.startswith(b"PK"):
        _refuse_bomb(name, content)
    try:
        book = CalamineWorkbook.from_filelike(BytesIO(content))
        titles = list(book.sheet_names)
        if len(titles) > MOST_SHEETS:
            raise RefusedFileError(TOO_MANY, name=name, count=len(titles), most=MOST_SHEETS)
        shown = shown_cells(content) if content.startswith(b"PK") else {}
        for title in titles:
            sheet = book.get_sheet_by_name(title)
            last_row, last_column = sheet.end or (-1, -1)
            _refuse_size(name, title, last_row + 1, last_column + 1)
            yield title, _trimmed(_as_shown(sheet, shown.get(title, Shown())))
    except PasswordError as error:
        raise RefusedFileError(LOCKED, name=name) from error
    except CalamineError as error:
        raise RefusedFileError(UNKNOWN, name=name) from error


def _as_shown(sheet: CalamineSheet, shown: Shown) -> Rows:
    """The cells of a sheet, with what they show where that is more than their value."""
    rows: Rows = sheet.to_python(skip_empty_area=False)
    for (row, column), text in shown.texts.items():
        if row < MOST_ROWS and column < MOST_COLUMNS:
            _put(rows, row, column, text)
    merged = [(top, bottom, left) for (top, left), (bottom, _) in sheet.merged_cell_ranges or ()]
    _fill_down(rows, merged + shown.spans)
    return rows


def _put(rows: Rows, row: int, column: int, text: str) -> None:
    """Write a cell; one at an edge, which the library takes for empty, may lie outside."""
    while len(rows) <= row:
        rows.append([])
    rows[row] += [""] * (column + 1 - len(rows[row]))
    rows[row][column] = text


def _fill_down(rows: Rows, spans: Sequence[tuple[int, int, int]]) -> None:
    """A cell that is merged over several rows stands in each of them that holds something of its own."""
    filled = [any(cell not in (None, "") for cell in row) for row in rows]
    for top, bottom, column in spans:
        for row in range(top + 1, min(bottom + 1, len(rows))):
            if filled[row] and column < len(rows[top]) and column < len(rows[row]):
                rows[row][column] = rows[top][column]


def _refuse_bomb(name: str, content: bytes) -> None:
    """Nothing may unpack to more than it says, and all of it together to no more than is reasonable."""
    try:
        with zipfile.ZipFile(BytesIO(content)) as archive:
            parts = archive.infolist()
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
                raise RefusedFileError(TOO_BIG, name=name, most=MOST_UNPACKED // 1024**2)
            if archive.testzip() is not None:
                raise RefusedFileError(UNKNOWN, name=name)
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, EOFError, OSError) as error:
        raise RefusedFileError(UNKNOWN, name=name) from error


def _refuse_size(name: str, sheet: str, height: int, width: int) -> None:
    if width > MOST_COLUMNS:
        raise RefusedFileError(TOO_WIDE, name=name, sheet=sheet, width=width, most=MOST_COLUMNS)
    if height > MOST_ROWS:
        raise RefusedFileError(TOO_LONG, name=name, sheet=sheet, height=height, most=MOST_ROWS)


def _text_sheet(name: str, content: bytes) -> tuple[str, Rows]:
    text = _decoded(name, content)
    said = _SEPARATOR.match(text)
    try:
        delimiter = said[1] if said else _delimiter_of(text)
        rows = list(csv.reader(StringIO(text, newline=""), delimiter=delimiter))
        _refuse_unclosed(name, text, delimiter)
    except csv.Error as error:
        raise RefusedFileError(UNKNOWN, name=name) from error
    if said:
        rows[0] = []  # the row keeps its number
    title = name.rsplit(".", 1)[0]
    _refuse_size(name, title, len(rows), max(map(len, rows), default=0))
    return title, _trimmed(rows)


def _delimiter_of(text: str) -> str:
    """The sign that parts the most of the first rows into as many columns each; a comma may be part of a number."""
    first = list(islice(StringIO(text, newline=""), LINES_TRIED))

    def parted(sign: str) -> int:
        widths = Counter(len(row) for row in csv.reader(first, delimiter=sign) if row)
        width, count = max(widths.items(), key=lambda found: (found[1], found[0]), default=(1, 0))
        return count if width > 1 else 0

    best = max("\t;|,", key=parted)
    return best if parted(best) else "\t"  # most rows have one cell, whatever stands in it


def _refuse_unclosed(name: str, text: str, delimiter: str) -> None:
    """The reader takes whatever follows a lone quotation mark for one cell, to the end of the file."""
    try:
        for _row in csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True):
            pass
    except csv.Error as error:
        if "unexpected end" in str(error):
            raise RefusedFileError(UNCLOSED, name=name) from error


def _decoded(name: str, content: bytes) -> str:
    """UTF-8 with or without its mark, UTF-16 with one, else the usual code page of Windows in the West."""
    codings = ("utf-16",) if content.startswith((b"\xff\xfe", b"\xfe\xff")) else ("utf-8-sig", "cp1252")
    for coding in codings:
        try:
            text = content.decode(coding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text
    raise RefusedFileError(UNKNOWN, name=name)


def _trimmed(rows: Sequence[Sequence[Any]]) -> Rows:
    """Without empty rows at the end and what stands above the headers, with the row numbers kept by empty rows."""
    plain = [[_plain(cell) for cell in row] for row in rows]
    while plain and not any(cell not in (None, "") for cell in plain[-1]):
        plain.pop()
    return plain


def _plain(cell: Any) -> Any:
    if isinstance(cell, str):
        return cell[: LONGEST_TEXT + 1]  # longer ones are refused where their row is known
    if isinstance(cell, datetime):
        return {"d": cell.date().isoformat()}
    if isinstance(cell, date):
        return {"d": cell.isoformat()}
    if isinstance(cell, time):
        return {"t": cell.isoformat()}
    if isinstance(cell, timedelta):
        return {"s": cell.total_seconds()}
    return cell


def header_place(rows: Sequence[Sequence[Any]]) -> int:
    """The place of the row that names the columns: the first that holds about as many texts as any near the top."""
    begins = next((place for place, row in enumerate(rows) if _texts(row)), 0)
    near = [_texts(row) for row in rows[begins : begins + HEADERS_WITHIN]]
    enough = 0.6 * max(near, default=0)
    return next((begins + place for place, count in enumerate(near) if count >= enough), 0)


def _texts(row: Sequence[Any]) -> int:
    """How many cells of a row hold a text."""
    return sum(1 for cell in row if isinstance(cell, str) and cell.strip())


def value_of(cell: Any) -> Any:
    """A cell as it was written by this program, as what it is."""
    if isinstance(cell, dict):
        (kind, value), *_ = cell.items()
        if kind == "d":
            return date.fromisoformat(value)
        return time.fromisoformat(value) if kind == "t" else timedelta(seconds=value)
    return float(cell) if isinstance(cell, int) and not isinstance(cell, bool) else cell


def main() -> None:
    """Read standard input and write what was found."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    try:
        answer: dict[str, Any] = {"sheets": read_file(sys.argv[1], sys.stdin.buffer.read())}
    except RefusedFileError as error:
        answer = {"refused": error.words, "values": error.values}
    sys.stdout.write(json.dumps(answer))


if __name__ == "__main__":
    main()
