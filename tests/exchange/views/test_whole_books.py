"""Workbooks of every format, from sending them to what is stored: as people send them, not as they should be."""

from datetime import date, time, timedelta
from io import BytesIO

import pytest
from django.urls import reverse

from core.services import jobs
from exchange.calc.reading import read_file
from exchange.models import DataImport
from qa.models import InfiltrationTest, Site, Surface
from tests.exchange.books import Formula, Percent, SheetError, Tall, ods, xls, xlsx
from tests.exchange.views.test_imports import look_through, send

BOOKS = pytest.mark.parametrize(
    ("book", "ends"),
    [
        (xlsx, "xlsx"),
        (xls, "xls"),
        (ods, "ods"),
        (lambda **sheets: xlsx(since_1904=True, **sheets), "xlsx"),
        (lambda **sheets: xls(since_1904=True, **sheets), "xls"),
    ],
    ids=["xlsx", "xls", "ods", "xlsx since 1904", "xls since 1904"],
)
OPENED, TESTED = date(2021, 5, 12), date(2024, 6, 3)
SITES = [["Owner", "Name", "Time zone", "Work from"], ["Harbour Homes", "Mill Street", "UTC", time(7, 30)]]
SURFACES = [
    *([[]] * 23),
    ["Register of 2024"],
    [
        "Site",
        "Name",
        "Type",
        "Area",
        "Opened on",
        "Limit (mm/h)",
        "Where it is agreed",
        "Fall of the subgrade",
    ],
    [Tall("Mill Street", 2), "North", "Porous asphalt", 640, OPENED, 250, "Contract", 1.5],
    [None, "South", "Porous asphalt", 500, OPENED, 250, "Contract", 1.5],
]
READINGS = ["Prewet time (s)", "Start after prewetting (s)", "Mass (kg)", "Diameter (mm)", "Elapsed time"]
TESTS = [
    ["Site", "Surface", "Date", "Spot", *READINGS],
    ["Mill Street", "North", TESTED, "A", 25, 60, Formula("9+9", 18), 300, timedelta(minutes=5, seconds=20)],
    ["Mill Street", "South", TESTED, "B", 25, 60, 18, 300, timedelta(hours=25, minutes=1, seconds=7)],
]


@pytest.fixture(autouse=True)
def _read_here(monkeypatch):
    """Files are read in this process: a program of its own for each takes longer than the tests."""
    monkeypatch.setattr("exchange.services.files.read_apart", read_file)


def sent(client, firm, content, ends):
    """A book after it was looked through."""
    client.force_login(firm.coordinator)
    file = BytesIO(content)
    file.name = f"records.{ends}"
    assert send(client, file).status_code == 302
    row = DataImport.objects.get()
    look_through(client, row)
    return worked_on(row)


def worked_on(row):
    jobs.run("exchange.DataImport", row.pk)
    row.refresh_from_db()
    return row


def taken_in(client, firm, content, ends):
    row = sent(client, firm, content, ends)
    assert not row.report.problems
    client.post(reverse("exchange:import-store", args=[row.pk]))
    assert worked_on(row).is_stored, row.error
    return row


@BOOKS
def test_days_times_spans_formulas_and_merged_cells_arrive_as_they_are_shown(client, firm, book, ends):
    owners = [["Name"], ["Harbour Homes"]]
    content = book(Owners=owners, Notes=[["nothing here"]], Sites=SITES, Surfaces=SURFACES, Tests=TESTS)

    taken_in(client, firm, content, ends)

    assert Site.objects.get(name="Mill Street").works_from == time(7, 30)
    surfaces = Surface.objects.filter(site__name="Mill Street").order_by("name")
    assert [(s.name, s.opened_on, s.area_m2) for s in surfaces] == [
        ("North", OPENED, 640),
        ("South", OPENED, 500),
    ]
    tests = InfiltrationTest.objects.filter(round__surface__in=surfaces).order_by("spot")
    assert [(t.spot, t.round.tested_on, t.test_mass, t.elapsed_s) for t in tests] == [
        ("A", TESTED, 18, 320),
        ("B", TESTED, 18, 90_067),
    ]


def with_fall(value):
    """One surface, whose subgrade falls by what a cell says."""
    header, row = SURFACES[-3], SURFACES[-2]
    return {"Surfaces": [["Owner", *header], ["Harbour Homes", "Mill Street", *row[1:-1], value]]}


@pytest.mark.parametrize("book", [xlsx, ods])
def test_per_cent_is_read_as_it_is_shown(client, firm, book):
    """A cell that shows 2.5 % holds 0.025."""
    taken_in(client, firm, book(**with_fall(Percent(0.025))), book.__name__)

    assert Surface.objects.get(name="North").subgrade_slope_percent == 2.5


def test_of_an_older_book_a_share_that_may_be_per_cent_is_told(client, firm):
    row = sent(client, firm, xls(**with_fall(Percent(0.025))), "xls")

    assert any("a cell that shows 2.5 % holds 0.025" in notice.what for notice in row.report.notices)


@pytest.mark.parametrize("book", [xlsx, ods])
@pytest.mark.parametrize(
    ("value", "said"),
    [
        (SheetError(), "the sheet has an error here"),
        (Formula("1+1", None), "the sheet holds a formula without its result"),
    ],
)
def test_a_cell_that_was_not_worked_out_is_told_and_is_not_taken_for_empty(client, firm, book, value, said):
    row = sent(client, firm, book(**with_fall(value)), book.__name__)

    assert [(problem.row, problem.column, problem.what) for problem in row.report.problems] == [
        (2, "Fall of the subgrade", said)
    ]
