"""The page of cost and price by month, and the same as files."""

import csv
from datetime import date
from decimal import Decimal
from io import BytesIO, StringIO

import openpyxl
import pytest
from django.urls import reverse

from planning.forms.cost_months import CostMonthsForm, usual_period
from planning.models import Agreement
from planning.presentation.cost_months import HEADERS
from tests.clock import TODAY
from tests.factories import CleaningFactory

URL = reverse("planning:cost-show")


@pytest.fixture
def office(client, firm):
    """A viewer of a firm with a cleaning of last month and an agreement of 1,200 a year."""
    CleaningFactory(
        surface=firm.surface, cleaned_on=date(2026, 5, 4), cost=Decimal("1234.50"), currency="EUR"
    )
    Agreement.objects.create(
        site=firm.site, price_per_year=Decimal(1200), currency="EUR", since=date(2026, 1, 1)
    )
    client.force_login(firm.viewer)
    return client


def asked(**given):
    return {"first": "2026-04-15", "last": "2026-06-01"} | given


def test_the_usual_period_is_half_a_year_back_and_ahead():
    assert usual_period(date(2026, 6, 10)) == (date(2025, 12, 1), date(2026, 11, 30))
    assert usual_period(date(2024, 2, 29)) == (date(2023, 8, 1), date(2024, 7, 31))


def test_the_page_tells_price_and_cost_apart_with_what_is_not_known(office, firm):
    page = office.get(URL, asked()).content.decode()

    for said in (
        "1,234",
        "300 EUR",
        "1 work without a known cost",
        "Cost is what the work costs the firm",
        "cost-months",
    ):
        assert said in page
    assert f'<th scope="row">{firm.owner.name}</th>' in page
    assert "April 2026 to June 2026" in page


def test_an_empty_firm_reads_nothing(client, firm):
    client.force_login(firm.viewer)

    page = client.get(URL).content.decode()

    assert "0.00 EUR" in page
    assert "Not in these sums" not in page


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"first": "2026-06-01", "last": "2026-04-01"}, "before the first"),
        ({"first": "2020-01-01", "last": "2026-04-01"}, "These are 76 months; at most 36"),
        ({"first": "soon"}, "Enter a valid date"),
        ({"owner": "3f1b8d1e-0000-4000-8000-000000000000"}, "not one of the available choices"),
    ],
)
def test_a_period_that_cannot_be_is_said_and_the_usual_one_is_shown(office, firm, given, said):
    answer = office.get(URL, asked(**given))

    form = CostMonthsForm(asked(**given), organisation=firm.organisation, today=TODAY)
    assert said in answer.content.decode()
    assert form.period == usual_period(TODAY)


def test_the_file_of_lines_holds_plain_numbers_by_month_owner_and_part(office, firm):
    answer = office.get(URL, asked(export="csv"))

    rows = list(csv.reader(StringIO(answer.getvalue().decode())))
    assert rows == [
        list(HEADERS),
        ["2026-04", firm.owner.name, "Agreements", "100.0", "0.0", "EUR", "0", "0"],
        ["2026-05", firm.owner.name, "Agreements", "100.0", "0.0", "EUR", "0", "0"],
        ["2026-05", firm.owner.name, "Done", "1234.5", "0.0", "EUR", "0", "1"],
        ["2026-06", firm.owner.name, "Agreements", "100.0", "0.0", "EUR", "0", "0"],
    ]
    assert "cost-and-price-2026-04-to-2026-06.csv" in answer["Content-Disposition"]


def test_the_spreadsheet_adds_up_to_the_page(office):
    answer = office.get(URL, asked(export="xlsx"))

    rows = list(openpyxl.load_workbook(BytesIO(answer.getvalue())).active.values)
    assert sum(row[3] for row in rows[1:]) == pytest.approx(1534.5)


def test_the_page_is_narrowed_to_an_owner(office, firm):
    page = office.get(URL, asked(owner=str(firm.owner.pk)))

    assert page.status_code == 200
    assert firm.owner.name in page.content.decode()
