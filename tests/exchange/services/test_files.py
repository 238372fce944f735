"""Files that somebody sent: packed as they came, read by a program of its own, and what their sheets seem to hold."""

import subprocess
import sys
import zipfile

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from openpyxl import Workbook

from exchange.calc.kinds import SheetKind
from exchange.calc.payloads import LearntColumns, SheetHead, SheetHeads, SheetMatch
from exchange.services import files

HEADS = SheetHeads(
    (SheetHead("Clients", ("Who", "Tel"), (), 3), SheetHead("Budget", ("Quarter", "Euros"), (), 2))
)


def sent(name, content=b"Name\nHarbour Homes\n"):
    return SimpleUploadedFile(name, content)


@pytest.fixture
def apart(monkeypatch):
    """What is read of each file, in place of the program that does it."""
    told = []

    def read(name, content):
        told.append((name, content))
        return [("First", [["Name"], ["A"]]), ("Second", [["Name"], ["B"]])]

    monkeypatch.setattr(files, "read_apart", read)
    return told


# ---- packed ---------------------------------------------------------------------------------------------


def test_files_are_kept_as_they_were_sent_in_their_order():
    packed = files.pack([sent("b.csv", b"one"), sent("a.csv", b"two"), sent("b.csv", b"three")])

    with zipfile.ZipFile(packed) as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == {
            "0/b.csv": b"one", "1/a.csv": b"two", "2/b.csv": b"three",
        }  # fmt: skip


def test_one_that_is_too_large_is_refused_with_its_size_and_what_to_do(monkeypatch):
    monkeypatch.setattr(files, "MOST_BYTES", 1024**2)

    with pytest.raises(ValidationError) as refused:
        files.pack([sent("small.csv"), sent("large.csv", b"x" * (1024**2 + 1))])

    (said,) = refused.value.message_dict["sheets"]
    assert said == "large.csv has 1.0 MB; at most 1 MB are read. Send the rows in several smaller files."


def test_one_of_just_the_size_is_taken(monkeypatch):
    monkeypatch.setattr(files, "MOST_BYTES", 1024)

    assert zipfile.ZipFile(files.pack([sent("a.csv", b"x" * 1024)])).namelist() == ["0/a.csv"]


def test_sheets_of_one_file_are_called_as_they_are_and_of_several_by_their_file_too(apart):
    alone = files.read_packed(files.pack([sent("a.xlsx")]))
    both = files.read_packed(files.pack([sent("a.xlsx"), sent("b.xlsx")]))

    assert [title for title, _ in alone] == ["First", "Second"]
    assert [title for title, _ in both] == [
        "First (a.xlsx)", "Second (a.xlsx)", "First (b.xlsx)", "Second (b.xlsx)",
    ]  # fmt: skip
    assert apart[0] == ("a.xlsx", b"Name\nHarbour Homes\n")


# ---- by a program of its own ------------------------------------------------------------------------------


def test_a_workbook_is_read_by_it_sheet_by_sheet(tmp_path):
    book = Workbook()
    book.active.title = "Clients"
    book.active.append(["Name", "Since"])
    book.active.append(["Müller", 2021])
    book.create_sheet("Empty")
    book.save(tmp_path / "a.xlsx")

    read = files.read_apart("a.xlsx", (tmp_path / "a.xlsx").read_bytes())

    assert read == [("Clients", [["Name", "Since"], ["Müller", 2021.0]])]


def test_what_it_refuses_is_passed_on_in_its_words():
    with pytest.raises(ValidationError) as refused:
        files.read_apart("a.xlsx", b"PK\x03\x04nothing")

    assert "a.xlsx is not a spreadsheet that can be read" in refused.value.message_dict["sheets"][0]


@pytest.mark.parametrize(
    ("outcome", "stdout"),
    [(0, b""), (0, b"{}"), (1, b'{"sheets": []}'), (-9, b""), (137, b"")],
    ids=["no answer", "none of ours", "an error", "killed", "out of memory"],
)
def test_a_file_on_which_it_dies_is_told_to_be_broken(monkeypatch, outcome, stdout):
    monkeypatch.setattr(
        subprocess, "run", lambda *_, **__: subprocess.CompletedProcess([], outcome, stdout, b"")
    )

    with pytest.raises(ValidationError) as refused:
        files.read_apart("odd.xls", b"x")

    assert refused.value.message_dict["sheets"] == [files.BROKEN_FILE % {"name": "odd.xls"}]


def test_a_file_on_which_it_takes_for_ever_is_told_to_be_broken_too(monkeypatch):
    asked = {}

    def slow(program, **given):
        asked.update(given, program=program)
        raise subprocess.TimeoutExpired(program, given["timeout"])

    monkeypatch.setattr(subprocess, "run", slow)

    with pytest.raises(ValidationError) as refused:
        files.read_apart("odd.xls", b"x")

    assert "odd.xls cannot be read" in refused.value.message_dict["sheets"][0]
    assert asked["timeout"] == files.LONGEST_READING_S
    assert asked["program"] == [sys.executable, "-m", "exchange.calc.reading", "odd.xls"]


def test_a_name_is_handed_over_as_a_name_and_never_to_a_shell():
    """Whoever sends a file chooses what it is called."""
    ((title, rows),) = files.read_apart("; echo $(id) > `x`.csv", b"Name\nA\n")

    assert (title, rows) == ("; echo $(id) > `x`", [["Name"], ["A"]])


# ---- what it seems to hold ---------------------------------------------------------------------------------


def test_of_a_sheet_the_headers_and_the_first_rows_are_kept():
    rows = [["Register of 2025"], [], ["Name", "Since", "Due"], ["A", 2021.0, {"d": "2024-06-03"}], ["", None],
            ["B", True, {"s": 90.0}], ["C"], ["D"]]  # fmt: skip

    head = files.head_of("Clients", rows)

    assert head.headers == ("Name", "Since", "Due")
    assert head.samples == (("A", "2021", "2024-06-03"), ("B", "yes", "0:01:30"), ("C",))
    assert head.rows == 4


def test_of_a_sheet_with_headers_alone_there_is_nothing_below():
    head = files.head_of("Clients", [["Name", "Since"]])

    assert (head.headers, head.samples, head.rows) == (("Name", "Since"), (), 0)


def test_what_lies_beyond_the_headers_is_not_kept():
    assert files.head_of("Clients", [["Name", "Tel"], ["A", "1", "beyond"]]).samples == (("A", "1"),)


def test_a_sheet_that_seems_to_hold_nothing_of_ours_is_left_out():
    matching = files.suggested(HEADS, {})

    assert matching.sheets == (SheetMatch("owners", ("", "phone")), SheetMatch("", ("", "")))


def test_what_was_learnt_comes_before_what_seems_so():
    learnt = {SheetKind.OWNERS: LearntColumns({"who": "name", "tel": ""})}

    assert files.suggested(HEADS, learnt).sheets[0] == SheetMatch("owners", ("name", ""))


def test_the_file_in_brackets_is_no_part_of_what_a_sheet_is_called():
    head = SheetHead("Customers (list of 2025.xlsx)", ("A", "B"), (), 1)

    assert files.suggested(SheetHeads((head,)), {}).sheets[0].kind == "owners"


def test_where_a_sheet_is_said_to_hold_something_else_its_columns_are_found_anew(firm):
    given = [SheetMatch("sites", ()), SheetMatch("", ("", ""))]
    heads = SheetHeads((SheetHead("Clients", ("Name", "Owner"), (), 3), HEADS.sheets[1]))

    assert files.matched_anew(firm.organisation, heads, given).sheets == (
        SheetMatch("sites", ("name", "owner")),
        SheetMatch("", ("", "")),
    )


def test_where_it_is_said_to_hold_the_same_its_columns_stay_as_they_were_sent(firm):
    given = [SheetMatch("owners", ("phone", "name")), SheetMatch("", ("", ""))]

    assert files.matched_anew(firm.organisation, HEADS, given).sheets == tuple(given)
