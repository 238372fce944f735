"""What a page and a file say of a look through sheets."""

import pytest

from exchange.calc.kinds import SheetKind
from exchange.calc.payloads import ImportReport, KindCount
from exchange.calc.problems import Remark
from exchange.presentation.imports import HEADERS, SHOWN, remark_rows, report_page

PROBLEM = Remark("Clients", 3, "Who", "x", "it is odd", "Mend it.")


def counts(**new):
    return tuple(KindCount(kind, count, 0, 0) for kind, count in new.items())


def headline(*, stored=False, **report):
    return report_page(ImportReport(**report), stored=stored).headline


@pytest.mark.parametrize(
    ("new", "said"),
    [
        ({"owners": 1}, "1 owner"),
        ({"owners": 2, "sites": 1}, "2 owners and 1 site"),
        ({"owners": 1, "sites": 1, "surfaces": 2}, "1 owner, 1 site and 2 surfaces"),
        ({"layers": 1}, "1 build-up"),
        ({"layers": 3, "tests": 1_000}, "3 build-ups and 1000 tests"),
        ({"rounds": 2, "locations": 0, "cleanings": 1}, "2 test rounds and 1 cleaning"),
        ({"locations": 5}, "5 test locations"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_would_be_and_what_was_taken_in_is_said_in_words(new, said):
    assert headline(counts=counts(**new)) == f"No problems. {said} would be taken in. Nothing is stored yet."
    assert headline(counts=counts(**new), stored=True) == f"{said} taken in."


def test_what_is_all_there_already_leaves_nothing_to_take_in():
    report = {"counts": (KindCount("owners", 0, 7, 0),)}

    assert headline(**report) == ("Everything in these sheets is there already. Nothing is left to take in.")
    assert headline(**report, stored=True) == "Nothing taken in."


@pytest.mark.parametrize(("count", "said"), [(1, "1 problem found."), (501, "501 problems found.")])
def test_problems_come_before_whatever_else_could_be_said(count, said):
    told = headline(problems=(PROBLEM,), problem_count=count, counts=counts(owners=3))

    assert told == f"{said} Nothing is stored: correct the sheets and send them again."


@pytest.mark.parametrize(
    ("kept", "count", "more"),
    [(0, 0, 0), (SHOWN, SHOWN, 0), (SHOWN + 1, SHOWN + 1, 1), (500, 12_000, 11_900)],
)
def test_a_page_shows_some_and_says_how_many_more_there_are(kept, count, more):
    page = report_page(ImportReport((PROBLEM,) * kept, count, (PROBLEM,) * kept, count), stored=False)

    assert (len(page.problems), page.more_problems) == (min(kept, SHOWN), more)
    assert (len(page.notices), page.more_notices) == (min(kept, SHOWN), more)
    assert page.problem_count == count


def test_a_line_for_each_kind_has_its_label_and_its_numbers():
    page = report_page(ImportReport(counts=(KindCount("layers", 1, 2, 3),)), stored=False)

    (line,) = page.counts
    assert (line.label, line.new, line.there, line.differ) == (SheetKind.LAYERS.label, 1, 2, 3)


def test_where_the_rows_are_is_passed_on():
    places = (("Car park, Mill Street", "/surfaces/1/"),)

    assert report_page(ImportReport(places=places), stored=True).places == places


def test_a_file_of_remarks_has_a_line_for_each_as_a_sentence():
    whole = Remark("Clients", 0, "", "", "Ähnliches steht zweimal", "")

    lines = list(remark_rows([PROBLEM, whole]))

    assert lines == [
        ("Clients", "3", "Who", "x", "It is odd.", "Mend it."),
        ("Clients", "", "", "", "Ähnliches steht zweimal.", ""),
    ]
    assert {len(line) for line in lines} == {len(HEADERS)}
