"""Workbooks in each of three formats, made cell by cell, with what people put into them."""

import zipfile
from dataclasses import dataclass
from datetime import date, time, timedelta
from io import BytesIO
from xml.sax.saxutils import escape, quoteattr

import xlwt
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

_FORMATS = {date: "YYYY-MM-DD", time: "hh:mm", timedelta: "[h]:mm:ss"}
_NAMES = "".join(
    f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text")
)
_OF_BOOK = "application/vnd.oasis.opendocument.spreadsheet"
_MANIFEST = f"""<m:manifest xmlns:m="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">
<m:file-entry m:full-path="/" m:media-type="{_OF_BOOK}"/>
<m:file-entry m:full-path="content.xml" m:media-type="text/xml"/></m:manifest>"""


@dataclass(frozen=True)
class Percent:
    """A share that the sheet shows as per cent."""

    share: float


@dataclass(frozen=True)
class Formula:
    """A formula; result None where the program that wrote it worked nothing out."""

    text: str
    result: float | None


@dataclass(frozen=True)
class SheetError:
    """What a formula gives that cannot be worked out."""

    shown: str = "#DIV/0!"


@dataclass(frozen=True)
class Tall:
    """A cell that is merged over several rows."""

    value: str
    rows: int


def ods(**sheets):
    """OpenDocument 1.2, as written by hand."""
    tables = "".join(
        f"<table:table table:name={quoteattr(name)}>{''.join(map(_ods_row, rows))}</table:table>"
        for name, rows in sheets.items()
    )
    body = f"<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body>"
    sent = BytesIO()
    with zipfile.ZipFile(sent, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", _OF_BOOK, zipfile.ZIP_STORED)  # unpacked and first: part 3, 3.3
        archive.writestr("META-INF/manifest.xml", _MANIFEST)
        archive.writestr("content.xml", f"<office:document-content{_NAMES}>{body}</office:document-content>")
    return sent.getvalue()


def _ods_row(row):
    if not row:
        return '<table:table-row><table:table-cell table:number-columns-repeated="1024"/></table:table-row>'
    return f"<table:table-row>{''.join(map(_ods_cell, row))}</table:table-row>"


def _ods_cell(value):
    if value is None:
        return "<table:covered-table-cell/>"
    if isinstance(value, Tall):
        return _ods_cell(value.value).replace("-cell ", f'-cell table:number-rows-spanned="{value.rows}" ', 1)
    if isinstance(value, Formula):
        kept = "" if value.result is None else f' office:value-type="float" office:value="{value.result}"'
        return f'<table:table-cell table:formula="of:={value.text}"{kept}/>'
    if isinstance(value, SheetError):
        return (
            '<table:table-cell table:formula="of:=1/0" office:value-type="string" office:string-value="">'
            f"<text:p>{value.shown}</text:p></table:table-cell>"
        )
    kind, key, said = _ods_value(value)
    shown = f"<text:p>{escape(said)}</text:p>" if kind == "string" else ""
    given = f' office:{key}="{said}"' if key else ""
    return f'<table:table-cell office:value-type="{kind}"{given}>{shown}</table:table-cell>'


def _ods_value(value):
    if isinstance(value, date):
        return "date", "date-value", value.isoformat()
    if isinstance(value, time):
        return "time", "time-value", f"PT{value:%HH%MM%SS}"
    if isinstance(value, timedelta):
        hours, rest = divmod(value.total_seconds(), 3600)
        return "time", "time-value", f"PT{hours:02.0f}H{rest // 60:02.0f}M{rest % 60:02.0f}S"
    if isinstance(value, Percent):
        return "percentage", "value", str(value.share)
    return ("string", "", value) if isinstance(value, str) else ("float", "value", str(value))


def xls(*, since_1904=False, **sheets):
    """The older binary format. Formulas have no kept results there: their results stand as numbers."""
    book = xlwt.Workbook()
    book.dates_1904 = since_1904
    for name, rows in sheets.items():
        sheet = book.add_sheet(name)
        for r, row in enumerate(rows):
            for c, value in enumerate(row):
                _xls_cell(sheet, r, c, value)
    sent = BytesIO()
    book.save(sent)
    return sent.getvalue()


def _xls_cell(sheet, r, c, value):
    if isinstance(value, Tall):
        sheet.write_merge(r, r + value.rows - 1, c, c, value.value)
    elif isinstance(value, Percent):
        sheet.write(r, c, value.share, xlwt.easyxf(num_format_str="0%"))
    elif isinstance(value, timedelta):
        sheet.write(r, c, value / timedelta(days=1), xlwt.easyxf(num_format_str="[h]:mm:ss"))
    elif isinstance(value, Formula):
        sheet.write(r, c, value.result)
    elif value is not None:
        sheet.write(r, c, value, xlwt.easyxf(num_format_str=_FORMATS.get(type(value), "General")))


def xlsx(*, since_1904=False, **sheets):
    """Office Open XML; results of formulas are put beside them afterwards, as the program that made them would."""
    book, results = Workbook(), {}
    if since_1904:
        book.epoch = CALENDAR_MAC_1904
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for r, row in enumerate(rows, 1):
            for c, value in enumerate(row, 1):
                _xlsx_cell(sheet, r, c, value, results)
    made, sent = BytesIO(), BytesIO()
    book.save(made)
    with zipfile.ZipFile(made) as old, zipfile.ZipFile(sent, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            text = old.read(part)
            for formula, result in results.items():
                text = text.replace(
                    f"<f>{formula}</f><v/>".encode(), f"<f>{formula}</f><v>{result}</v>".encode()
                ).replace(f"<f>{formula}</f><v></v>".encode(), f"<f>{formula}</f><v>{result}</v>".encode())
            new.writestr(part, text)
    return sent.getvalue()


def _xlsx_cell(sheet, r, c, value, results):
    cell = sheet.cell(r, c)
    if isinstance(value, Tall):
        cell.value = value.value
        sheet.merge_cells(start_row=r, end_row=r + value.rows - 1, start_column=c, end_column=c)
    elif isinstance(value, Percent):
        cell.value, cell.number_format = value.share, "0.0%"
    elif isinstance(value, Formula):
        cell.value = f"={value.text}"
        if value.result is not None:
            results[value.text] = value.result
    elif isinstance(value, SheetError):
        cell.value, cell.data_type = value.shown, "e"
    elif value is not None:
        cell.value = value
        cell.number_format = _FORMATS.get(type(value), "General")
