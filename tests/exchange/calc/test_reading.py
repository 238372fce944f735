"""Files as people, and others, send them."""

import zipfile
from datetime import date, time, timedelta
from io import BytesIO

import pytest
from openpyxl import Workbook

from exchange.calc import reading
from exchange.calc.reading import RefusedFileError, header_place, read_file, value_of
from tests.exchange.books import Tall, ods


def book_of(*rows, title="Sheet"):
    book = Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    sent = BytesIO()
    book.save(sent)
    return sent.getvalue()


def test_a_workbook_is_read_cell_by_cell():
    content = book_of(
        ["Name", "Day", "At", "For"], ["A", date(2025, 1, 2), time(7, 30), timedelta(seconds=90)], [1, True]
    )

    ((title, rows),) = read_file("a.xlsx", content)

    assert title == "Sheet"
    assert [value_of(cell) for cell in rows[1]] == ["A", date(2025, 1, 2), time(7, 30), timedelta(seconds=90)]
    assert [value_of(cell) for cell in rows[2]] == [1.0, True, "", ""]


@pytest.mark.parametrize(
    "content",
    [
        b"Name;Area\r\nM\xc3\xbcller;12,5\r\n",
        b"\xef\xbb\xbfName;Area\nM\xc3\xbcller;12,5",
        b"Name\tArea\nM\xfcller\t12,5\n",
        "Name;Area\nMüller;12,5".encode("utf-16"),
        b'Name,Area\nM\xc3\xbcller,"12,5"\n',
    ],
)
def test_text_is_read_whatever_parts_its_columns_and_codes_its_letters(content):
    assert read_file("a.csv", content) == [("a", [["Name", "Area"], ["Müller", "12,5"]])]


def test_a_formula_is_read_as_what_it_is_written_as():
    ((_, rows),) = read_file("a.csv", b"Name\n=1+1\n")

    assert rows[1] == ["=1+1"]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n\n",
        b"PK\x03\x04nothing",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"0" * 600,
        b"a\x00b",
        bytes(range(256)) * 4,
    ],
)
def test_what_is_no_sheet_is_refused_in_words(content):
    with pytest.raises(RefusedFileError, match=r"a\.xlsx"):
        read_file("a.xlsx", content)


def test_a_bomb_is_refused_before_it_is_unpacked(monkeypatch):
    monkeypatch.setattr(reading, "MOST_UNPACKED", 1024 * 1024)
    sent = BytesIO()
    with zipfile.ZipFile(sent, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 4 * 1024 * 1024)

    with pytest.raises(RefusedFileError, match="unpacks to more than 1 MB"):
        read_file("a.xlsx", sent.getvalue())


def test_an_archive_that_lies_about_its_sizes_is_refused():
    sent = BytesIO()
    with zipfile.ZipFile(sent, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a", b"0" * 100_000)
    lying = sent.getvalue().replace((100_000).to_bytes(4, "little"), (10).to_bytes(4, "little"))

    with pytest.raises(RefusedFileError, match="not a spreadsheet"):
        read_file("a.xlsx", lying)


def test_too_many_columns_or_rows_are_told_with_their_number(monkeypatch):
    with pytest.raises(RefusedFileError, match="has 201 columns; at most 200"):
        read_file("a.xlsx", book_of(["x"] * 201))

    monkeypatch.setattr(reading, "MOST_ROWS", 3)
    with pytest.raises(RefusedFileError, match="has 5 rows; at most 3"):
        read_file("a.csv", b"a\n1\n2\n3\n4\n")


def test_the_headers_are_found_below_a_title():
    assert (
        header_place([["Register of 2025", ""], ["", ""], ["Name", "Area", "Type"], ["A", 3.0, "picp"]]) == 2
    )
    assert header_place([["Name", "Area", ""], ["A", "12", "a remark"]]) == 0
    assert header_place([]) == 0


@pytest.mark.parametrize(
    "text",
    [
        "Register, 2025\nName;Area\nA;12,5\nB;13,5\n",
        "Area, m2;Name\n12,5;A\n13,5;B\n",
        "Name;Note\nA;one, two, three\nB;four, five, six\n",
        "Name;Note\r\nA;\"x; y\"\r\nB;z\r\n",
    ],
)  # fmt: skip
def test_commas_in_numbers_and_texts_part_no_columns(text):
    ((_, rows),) = read_file("a.csv", text.encode())

    assert {len(row) for row in rows[-2:]} == {2}


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_a_first_line_may_say_what_parts_the_columns_and_rows_keep_their_numbers(sign):
    text = f"sep={sign}\nName{sign}Area\nA{sign}12\n"

    ((_, rows),) = read_file("a.csv", text.encode())

    assert rows == [[], ["Name", "Area"], ["A", "12"]]
    assert header_place(rows) == 1


def test_a_list_of_one_column_stays_one():
    ((_, rows),) = read_file("a.csv", b"Name\nHarbour Homes, Ltd\nA\nB\nC\n")

    assert rows[1] == ["Harbour Homes, Ltd"]


def test_a_quotation_mark_that_is_not_closed_is_told_and_swallows_no_rows():
    with pytest.raises(RefusedFileError, match=r"quotation mark opens in a\.csv"):
        read_file("a.csv", b'Name,Note\nA,"unfinished\nB,x\nC,y\n')


def test_a_mark_of_inches_within_a_cell_is_no_quotation():
    ((_, rows),) = read_file("a.csv", b'Name,Ring\nA,12"\nB,12" ring\n')

    assert rows[1:] == [["A", '12"'], ["B", '12" ring']]


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_line_ends_and_codings_of_every_system_are_read(ends, coding):
    text = ends.join(["Name;Note", "Müller;“ja”", "Ångström;–"])

    assert read_file("a.csv", text.encode(coding))[0][1][2] == ["Ångström", "–"]


def test_a_long_text_keeps_one_sign_more_than_is_taken_so_that_its_row_can_say_so():
    ((_, rows),) = read_file("a.csv", f"Name\n{'x' * 9000}\n".encode())

    assert len(rows[1][0]) == 4001


def test_the_size_of_a_sheet_counts_from_its_first_cell_wherever_its_rows_begin():
    book = Workbook()
    book.active.cell(1, 300, "far")
    sent = BytesIO()
    book.save(sent)

    with pytest.raises(RefusedFileError, match="has 300 columns; at most 200"):
        read_file("a.xlsx", sent.getvalue())


def test_the_headers_are_found_below_any_number_of_empty_rows():
    assert header_place([*[[""] * 3] * 40, ["Register", "", ""], ["Name", "Area", "Type"]]) == 41


def test_a_merged_cell_makes_no_record_of_a_row_that_holds_nothing_else():
    rows = [["Site", "Name"], [Tall("Mill Street", 3), "A"], [None, "B"], [None, ""]]

    ((_, read),) = read_file("a.ods", ods(Sheet=rows))

    assert [row[:2] for row in read[1:]] == [["Mill Street", "A"], ["Mill Street", "B"]]
