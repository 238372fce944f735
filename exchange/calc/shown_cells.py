"""What cells of a workbook show and the library that reads them leaves out: per cent, errors, and results never kept.

Read from the parts of an .xlsx (ECMA-376, part 1, 18.3 and 18.8) or an .ods (OpenDocument 1.2, part 1, 9 and 19), and
merged cells of an .ods too. Of an .xls nothing is known beyond what the library says.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import BytesIO
from itertools import product
from posixpath import join, normpath
from typing import Any
from xml.etree.ElementTree import Element, ParseError, fromstring, iterparse
from zipfile import ZipFile

from core.calc.promised import SHEET_MOST_ROWS
from exchange.calc.columns import MOST_COLUMNS, NOT_WORKED_OUT

Place = tuple[int, int]  # row and column, each from 0
_PERCENT_FORMATS = frozenset({"9", "10"})  # ECMA-376, part 1, 18.8.30: 0% and 0.00%
_NOT_OF_THE_FORMAT = re.compile(r'"[^"]*"|\\.')
_CELL = re.compile(rb"<(?:\w+:)?c\s([^>]*?)(?:/>|>(.*?)</(?:\w+:)?c>)", re.DOTALL)
_NAMED = re.compile(rb'(\w+)="([^"]*)"')
_VALUE = re.compile(rb"<(?:\w+:)?v(?:\s[^>]*)?>([^<]+)<")
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
_REFERENCE = re.compile(r"([A-Z]{1,3})(\d{1,7})")


@dataclass(slots=True)
class Shown:
    """Of one sheet. texts: what to read in place of a value; spans: first row, last row and column of merged cells."""

    texts: dict[Place, str] = field(default_factory=dict)
    spans: list[tuple[int, int, int]] = field(default_factory=list)


def shown_cells(content: bytes) -> dict[str, Shown]:
    """By the name of the sheet; empty for what has no such parts."""
    try:
        with ZipFile(BytesIO(content)) as archive:
            if "content.xml" in archive.NameToInfo:
                return _of_open_document(archive.read("content.xml"))
            return dict(_of_workbook(archive)) if "xl/workbook.xml" in archive.NameToInfo else {}
    except (ParseError, KeyError, ValueError):
        return {}  # the library may read it all the same, or says why not


def percent(value: float) -> str:
    """As a person sees it in the sheet."""
    return f"{100 * value:.12g} %"


# ---- .xlsx -----------------------------------------------------------------------------------------------


def _of_workbook(archive: ZipFile) -> Iterator[tuple[str, Shown]]:
    styles = _percent_styles(archive)
    links = fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    paths = {link.get("Id"): normpath(join("xl", link.get("Target", ""))).lstrip("/") for link in links}
    for sheet in fromstring(archive.read("xl/workbook.xml")).iterfind(".//{*}sheet"):
        link = next((value for name, value in sheet.items() if name.endswith("}id")), None)
        path = paths.get(link, "")
        if path in archive.NameToInfo:
            yield sheet.get("name", ""), Shown(dict(_of_sheet(archive.read(path), styles)))


def _percent_styles(archive: ZipFile) -> frozenset[bytes]:
    """The numbers of the styles that show a value as per cent."""
    if "xl/styles.xml" not in archive.NameToInfo:
        return frozenset()
    styles = fromstring(archive.read("xl/styles.xml"))
    own = {
        each.get("numFmtId")
        for each in styles.iterfind(".//{*}numFmt")
        if "%" in _NOT_OF_THE_FORMAT.sub("", each.get("formatCode", ""))
    }
    formats = [each.get("numFmtId") for each in styles.iterfind("{*}cellXfs/{*}xf")]
    return frozenset(str(n).encode() for n, of in enumerate(formats) if of in own | _PERCENT_FORMATS)


def _of_sheet(xml: bytes, percent_styles: frozenset[bytes]) -> Iterator[tuple[Place, str]]:
    if not percent_styles and b't="e"' not in xml and not _FORMULA.search(xml):
        return
    for found in _CELL.finditer(xml):
        named, inside = dict(_NAMED.findall(found[1])), found[2] or b""
        place = _place(named.get(b"r", b"").decode())
        text = _shown_by(named, inside, percent_styles)
        if place is not None and text:
            yield place, text


def _shown_by(named: dict[bytes, bytes], inside: bytes, percent_styles: frozenset[bytes]) -> str:
    """What a cell shows in place of its value; empty where it is the value."""
    value, kind = _VALUE.search(inside), named.get(b"t", b"n")
    if kind == b"e":
        return value[1].decode() if value else NOT_WORKED_OUT
    if kind == b"n" and value and named.get(b"s") in percent_styles:
        return percent(float(value[1]))
    return NOT_WORKED_OUT if kind == b"n" and not value and _FORMULA.search(inside) else ""


def _place(reference: str) -> Place | None:
    """B3 is row 2, column 1."""
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        return None
    column = 0
    for letter in match[1]:
        column = 26 * column + ord(letter) - ord("A") + 1
    return int(match[2]) - 1, column - 1


# ---- .ods -----------------------------------------------------------------------------------------------

_WORTH_A_LOOK = (b"percentage", b"formula=", b"number-rows-spanned")


def _of_open_document(xml: bytes) -> dict[str, Shown]:
    found: dict[str, Shown] = {}
    if not any(word in xml for word in _WORTH_A_LOOK):
        return found
    shown, row = Shown(), 0
    for event, element in iterparse(BytesIO(xml), events=("start", "end")):
        name = element.tag.rpartition("}")[2]
        if name == "table" and event == "start":
            shown = found[_said(element).get("name", "")] = Shown()
            row = 0
        elif name == "table-row" and event == "end":
            times = int(_said(element).get("number-rows-repeated", "1"))
            _take_row(shown, element, range(row, min(row + times, SHEET_MOST_ROWS)))
            row += times
            element.clear()
    return found


def _said(element: Element) -> dict[str, str]:
    """The attributes of an element without their namespaces."""
    return {name.rpartition("}")[2]: value for name, value in element.items()}


def _take_row(shown: Shown, element: Element, rows: range) -> None:
    column = 0
    for cell in element:
        said = _said(cell)
        times = int(said.get("number-columns-repeated", "1"))
        text = _shown_in(said, cell)
        if text:
            columns = range(column, min(column + times, MOST_COLUMNS))
            shown.texts.update(dict.fromkeys(product(rows, columns), text))
        height = int(said.get("number-rows-spanned", "1"))
        if height > 1 and rows:
            shown.spans.append((rows[0], rows[0] + height - 1, column))
        column += times


def _shown_in(said: dict[str, Any], cell: Element) -> str:
    if said.get("value-type") == "percentage":
        return percent(float(said["value"]))
    if "formula" not in said or said.get("value") or said.get("value-type") not in (None, "string"):
        return ""
    text = said.get("string-value") or " ".join("".join(part.itertext()) for part in cell.iterfind("{*}p"))
    return text or ("" if "value-type" in said else NOT_WORKED_OUT)
