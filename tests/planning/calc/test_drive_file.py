"""Files of measured drives: how they are read, and that every wrong line is told with its number."""

from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.calc.drive_file import MOST_LINES, MOST_TOLD, DriveFileError, DriveTimes, read_drives

YARD, OTHER, MILL, QUAY = (uuid4() for _ in range(4))
PLACES = {"Main yard": [YARD, OTHER], "Mill Street": [MILL], "Quay": [QUAY]}
HEAD = "from,to,minutes,km\n"


def read(text, doubled=()):
    return read_drives(text, PLACES, frozenset(doubled))


def found(drives):
    return {(drives.places[a], drives.places[b]): (minutes, km) for a, b, minutes, km in drives.drives}


def problems(text, doubled=()):
    with pytest.raises(DriveFileError) as caught:
        read(text, doubled)
    return caught.value.problems


def test_a_drive_counts_both_ways_unless_the_way_back_is_written():
    drives = found(read(HEAD + "Mill Street,Quay,12,8.5\nQuay,Mill Street,20,9\n"))
    one_way = found(read(HEAD + "Mill Street,Quay,12,8.5\n"))

    assert drives == {(MILL, QUAY): (12, 8.5), (QUAY, MILL): (20, 9.0)}
    assert one_way == {(MILL, QUAY): (12, 8.5), (QUAY, MILL): (12, 8.5)}


def test_a_depot_counts_for_every_crew_that_starts_from_it():
    drives = found(read(HEAD + "main  YARD, quay ,30,22\n"))

    assert drives == {pair: (30, 22.0) for one in (YARD, OTHER) for pair in ((one, QUAY), (QUAY, one))}


def test_a_depot_that_two_crews_write_differently_counts_for_both():
    places = {"Main yard": [YARD], "main YARD ": [OTHER], "Quay": [QUAY]}

    drives = found(read_drives(HEAD + "Main yard,Quay,30,22\n", places, frozenset()))

    assert {(YARD, QUAY), (OTHER, QUAY)} <= set(drives)


def test_columns_stand_in_any_order_and_semicolons_bring_decimal_commas():
    drives = found(read("km;Minutes;to;from\n8,5;12,4;Quay;Mill Street\n"))

    assert drives[MILL, QUAY] == (12, 8.5)


def test_empty_lines_and_further_columns_are_passed_over():
    assert len(found(read("note,from,to,minutes,km\n\nby night,Quay,Mill Street,9,7\n,,,,\n"))) == 2


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("Quay,Harbour,1,1", "Line 2: no site and no depot is called Harbour."),
        ("Quay,,1,1", "Line 2: no site and no depot is called nothing."),
        ("Quay,Mill Street,soon,1", "Line 2: minutes is soon; give a number from 0 to 1440."),
        ("Quay,Mill Street,-1,1", "Line 2: minutes is -1; give a number from 0 to 1440."),
        ("Quay,Mill Street,1,nan", "Line 2: km is nan; give a number from 0 to 2000."),
        ("Quay,Mill Street,1,", "Line 2: km is empty; give a number from 0 to 2000."),
        ("Quay,Mill Street,1", "Line 2 has 3 columns; 4 are needed."),
        ("Quay,Mill Street,1,1\nquay,MILL street,2,2", "Line 3: this drive stands in line 2 already."),
    ],
)
def test_a_wrong_line_is_told_with_its_number(lines, said):
    assert problems(HEAD + lines + "\n") == [said]


def test_a_name_of_two_sites_is_refused_since_nobody_knows_which():
    assert problems(HEAD + "Quay,Mill Street,1,1\n", doubled=["quay"]) == [
        "Line 2: more than one place is called Quay. Give each its own name."
    ]


def test_all_wrong_lines_are_told_at_once_up_to_a_number():
    told = problems(HEAD + "Quay,Nowhere,1,1\n" * (MOST_TOLD + 5))

    assert len(told) == MOST_TOLD + 1
    assert told[-1] == "5 more lines are wrong."
    assert told[3].startswith("Line 5:")


def test_a_file_without_its_columns_or_without_drives_says_what_is_asked():
    assert "names no column minutes and no km" in problems("from,to\n")[0]
    assert "it has nothing" in problems("")[0]
    assert problems(HEAD) == ["The file names no drive. Send one with a line for each."]


def test_more_lines_than_are_kept_are_refused(monkeypatch):
    monkeypatch.setattr("planning.calc.drive_file.MOST_LINES", 2)

    assert MOST_LINES > 2
    assert "Line 4: more than 2 drives" in problems(HEAD + "Quay,Nowhere,1,1\n" * 4)[0]


@given(st.text(max_size=200))
def test_whatever_is_sent_is_read_or_refused_in_words(text):
    told: list[str] = []
    try:
        kept = read(HEAD + text).drives
    except DriveFileError as error:
        told, kept = error.problems, ()

    assert bool(kept) != bool(told)
    assert all(problem.strip() for problem in told)


def test_what_is_kept_is_read_back_as_it_was():
    drives = read(HEAD + "Mill Street,Quay,12,8.5\n")

    assert DriveTimes.from_json(drives.to_json()) == drives
