"""Lists taken away as files: nothing in them is worked out by a spreadsheet, nothing is lost, nothing is garbled."""

import csv
import io
import re

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from core.presentation.exports import export_response, plain_cell
from maintenance.models import Forecast
from tests.factories import SiteFactory, SurfaceFactory

FORMULAS = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1+1",
    "\r=1+1",
    "=cmd|' /C calc'!A0",
    '=HYPERLINK("http://x")',
]
PLAIN = [
    "North yard",
    "1 = 1",
    "a+b",
    "Lane -3",
    "x@y",
    "é 日本 🙂",
    "'quoted'",
    'a "b", c',
    "two\nlines",
    "",
]
BEGINNINGS = st.sampled_from(["", "=", "+", "-", "@", "\t", "\r", "\x00="])
TEXT = st.builds(str.__add__, BEGINNINGS, st.text(st.characters(exclude_categories=("Cs",)), max_size=30))


def exported(rows, kind):
    return export_response(("Näme", "Size (m²)"), rows, kind, "things")


def in_csv(rows):
    return list(csv.reader(io.StringIO(exported(rows, "csv").getvalue().decode("utf-8-sig"), newline="")))


def in_xlsx(rows):
    sheet = load_workbook(io.BytesIO(exported(rows, "xlsx").getvalue())).active
    return [[cell.value for cell in row] for row in sheet.iter_rows()]


@pytest.mark.parametrize("text", FORMULAS)
def test_a_text_that_a_spreadsheet_would_work_out_stays_a_text(text):
    assert plain_cell(text) == f"'{text}"


@pytest.mark.parametrize("text", PLAIN)
def test_an_ordinary_text_is_left_as_it_is(text):
    assert plain_cell(text) == text


@given(TEXT)
def test_no_text_whatever_begins_as_a_formula_or_holds_what_a_sheet_cannot(text):
    cell = plain_cell(text)

    assert not re.match(r"[=+\-@\t\r]", cell)
    assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", cell.removeprefix("'").replace("\t", ""))


@given(TEXT)
def test_nothing_but_control_characters_is_taken_from_a_text(text):
    kept = "".join(c for c in text if c >= " " or c in "\t\n\r")

    assert plain_cell(text) in (kept, f"'{kept}")


@pytest.mark.parametrize("value", [-1.5, 0, 12, None, 1e9, True])
def test_a_number_stays_one_even_below_nothing(value):
    assert plain_cell(value) is value


@pytest.mark.parametrize("text", [text for text in PLAIN if text])
def test_texts_come_back_from_both_kinds_of_file(text):
    assert in_csv([(text, 1)])[1] == [text, "1"]
    assert in_xlsx([(text, 1)])[1] == [text, 1]


@pytest.mark.parametrize("text", FORMULAS)
def test_a_sheet_holds_no_formula(text):
    sheet = load_workbook(io.BytesIO(exported([(text, -2.5)], "xlsx").getvalue())).active

    assert [cell.data_type for cell in sheet[2]] == ["s", "n"]


def test_a_list_without_rows_is_a_file_with_its_headers():
    assert in_csv([]) == [["Näme", "Size (m²)"]]
    assert in_xlsx([]) == [["Näme", "Size (m²)"]]


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_file_is_handed_out_under_its_name_and_not_shown_in_the_page(kind):
    answer = exported([("a", 1)], kind)

    assert answer["Content-Disposition"] == f'attachment; filename="things.{kind}"'


def test_a_file_of_lines_is_handed_out_before_the_last_row_was_read():
    read = []

    def rows():
        for n in range(5_000):
            read.append(n)
            yield f"surface {n}", n

    answer = exported(rows(), "csv")
    first = next(iter(answer.streaming_content))

    assert first.startswith("Näme,".encode())
    assert 0 < len(read) < 5_000


@pytest.fixture
def rows_of_surfaces(client, firm):
    """The list of surfaces as the firm's viewer takes it away."""

    def taken(**query):
        client.force_login(firm.viewer)
        answer = client.get(reverse("maintenance:surface-list"), {"export": "csv"} | query)
        return list(csv.DictReader(io.StringIO(answer.getvalue().decode("utf-8-sig"), newline="")))

    return taken


def test_a_surface_called_like_a_formula_is_taken_away_as_a_name(firm, rows_of_surfaces):
    firm.surface.name = '=HYPERLINK("http://x")'
    firm.surface.save()

    assert rows_of_surfaces()[0]["Surface"] == '\'=HYPERLINK("http://x")'


def test_all_surfaces_are_taken_away_not_only_those_of_the_page(firm, rows_of_surfaces):
    SurfaceFactory.create_batch(60, site=firm.site)

    assert len(rows_of_surfaces()) == 61


def test_what_is_taken_away_is_what_the_list_is_narrowed_to(firm, rows_of_surfaces):
    SurfaceFactory(site=SiteFactory(owner=firm.owner), name="Only this lane")
    SurfaceFactory(name="Only of another firm")

    assert [row["Surface"] for row in rows_of_surfaces(q="only")] == ["Only this lane"]


@pytest.mark.parametrize(("units", "area", "rate"), [("si", "1000.0", "254.0"), ("us", "10763.9104", "10.0")])
def test_numbers_are_in_the_readers_units_which_the_headers_name(firm, rows_of_surfaces, units, area, rate):
    firm.viewer.units = units
    firm.viewer.save()
    Forecast.objects.update_or_create(surface=firm.surface, defaults={"rate_now_mm_h": 254.0})
    square, speed = {"si": ("m²", "mm/h"), "us": ("ft²", "in/h")}[units]

    row = rows_of_surfaces()[0]

    assert (row[f"Area ({square})"], row[f"Rate now, estimated ({speed})"]) == (area, rate)


def test_a_value_that_is_not_known_is_an_empty_cell(firm, rows_of_surfaces):
    row = rows_of_surfaces()[0]

    assert [
        row[name] for name in ("Rate now, estimated (mm/h)", "Chance below limit", "Likely at the limit by")
    ] == [
        "",
        "",
        "",
    ]


@pytest.mark.parametrize("kind", ["pdf", "", "CSV", "../csv"])
def test_a_kind_of_file_that_is_not_made_shows_the_page(client, firm, kind):
    client.force_login(firm.viewer)

    answer = client.get(reverse("maintenance:surface-list"), {"export": kind})

    assert answer["Content-Type"].startswith("text/html")
