"""The pages on a yearly sum, on what cleanings gave, and on why something is advised, from a real forecast."""

from decimal import Decimal
from io import BytesIO

import openpyxl
import pytest
from django.urls import reverse

from maintenance.models import MethodTerms, Recommendation
from maintenance.services import forecasts
from maintenance.services.cleanings import terms_of
from planning.models import Agreement  # noqa: F401  # the app's commitments are registered
from tests.clock import TODAY
from tests.factories import BECAUSE, CleaningFactory, InfiltrationTestFactory, RoundFactory


@pytest.fixture
def clogged(firm, client):
    """A surface with rounds about a cleaning, its forecast, and advice to clean it."""
    from datetime import timedelta

    for days, seconds in ((900, 60.0), (400, 300.0), (330, 150.0), (60, 500.0)):
        round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=days))
        InfiltrationTestFactory(round=round_, elapsed_s=seconds)
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY - timedelta(days=350), done_by="Crew of test")
    terms_of(firm.organisation)
    forecasts.refresh(firm.surface.pk)
    firm.surface.refresh_from_db()
    client.force_login(firm.coordinator)
    return firm


def test_the_budget_page_shows_both_charts_and_without_a_forecast_says_what_comes(client, clogged):
    page = client.get(reverse("planning:budget-plan"), {"amount": "500"}).content.decode()
    client.force_login(clogged.outsider)
    empty = client.get(reverse("planning:budget-plan")).content.decode()

    assert "budget-frontier" in page
    assert "budget-years" in page
    assert "Nothing to compare yet" in empty


def test_a_sum_that_is_too_small_is_said_and_a_wrong_one_stands_beside_its_field(client, clogged):
    negative = client.get(reverse("planning:budget-plan"), {"amount": "-5"}).content.decode()

    assert "-5 is too small" in negative


def test_the_plan_is_a_spreadsheet_with_plain_numbers(client, clogged):
    answer = client.get(reverse("planning:budget-plan"), {"amount": "900", "export": "xlsx"})

    book = openpyxl.load_workbook(BytesIO(b"".join(answer.streaming_content)))
    assert book.sheetnames == ["By year", "By owner", "By kind", "This year"]
    rows = list(book["By year"].values)
    assert len(rows) == 11
    assert all(isinstance(cell, int | float) for cell in rows[1][1:])


def test_the_plan_by_owner_and_by_kind_adds_up_to_the_years(client, clogged):
    answer = client.get(reverse("planning:budget-plan"), {"export": "xlsx"})

    book = openpyxl.load_workbook(BytesIO(b"".join(answer.streaming_content)))
    years = [row[1] for row in list(book["By year"].values)[1:]]
    for name in ("By owner", "By kind"):
        columns = zip(*(row[1:] for row in list(book[name].values)[1:]), strict=True)
        assert [sum(column) for column in columns] == pytest.approx(years, abs=0.05)


def test_a_cleaning_with_rounds_about_it_is_told_with_its_crew(client, clogged):
    page = client.get(reverse("planning:learning-show")).content.decode()

    assert "Crew of test" in page
    assert "too few to tell" in page


def test_why_works_through_the_figures_of_the_surface(client, clogged):
    outlook = clogged.surface.forecast.outlook
    option = next(o for o in outlook.options if o.method == "vacuum")
    row = Recommendation.objects.create(
        surface=clogged.surface,
        action="look",
        method="vacuum",
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=option.cost,
        waiting_costs=Decimal("321.00"),
        grounds=type(BECAUSE)(1, ("Because.",), option),
    )

    url = reverse("maintenance:recommendation-why", args=[row.pk])
    page = client.get(url).content.decode()
    clogged.coordinator.units = "us"
    clogged.coordinator.save()
    us = client.get(url).content.decode()

    assert ("EUR a m² and year" in page, "EUR a m² times" in page, "ft²" in page) == (True, True, False)
    assert ("EUR a ft² and year" in us, "EUR a ft² times" in us, "m²" in us) == (True, True, False)
    for said in ("Where does it stand?", "What does it give back?", "keeping it within the limit", "321 EUR"):
        assert said in page


def test_storing_the_prices_says_what_they_change_and_the_first_page_asks_no_more(client, clogged):
    asked = client.get("/").content.decode()
    rows = MethodTerms.objects.of_organisation(clogged.organisation)
    page = client.get(reverse("maintenance:method-terms"))
    form = {f"visit-{name}": "" for name in ("test_visit_price",)}
    form["visit-seen"] = page.context["visit"]["seen"].value() or ""
    formset = page.context["formset"]
    form |= {f"terms-{key}": value for key, value in formset.management_form.initial.items()}
    for one in formset.forms:
        for field in one:
            form[field.html_name] = field.value() if field.value() is not None else ""
    answer = client.post(reverse("maintenance:method-terms"), form, follow=True)

    assert "give your own once" in asked
    assert "advice is being worked out anew" in answer.content.decode()
    assert "give your own once" not in client.get("/").content.decode()
    assert rows.exists()


def test_the_area_that_a_year_leaves_below_stands_in_the_readers_units(client, clogged):
    clogged.coordinator.units = "us"
    clogged.coordinator.save()

    page = client.get(reverse("planning:budget-plan"), {"amount": "500"}).content.decode()

    assert "ft²" in page
    assert "m²</" not in page


def test_the_spreadsheet_tells_areas_in_the_readers_units(client, clogged):
    """The same areas, in square feet of 0.09290304 m²."""
    told = {}
    for units in ("si", "us"):
        clogged.coordinator.units = units
        clogged.coordinator.save()
        answer = client.get(reverse("planning:budget-plan"), {"export": "xlsx"})
        rows = list(openpyxl.load_workbook(BytesIO(b"".join(answer.streaming_content)))["By year"].values)
        told[units] = rows[0][4], [row[4] for row in rows[1:]]

    assert (told["si"][0], told["us"][0]) == ("Area below (m² a year)", "Area below (ft² a year)")
    assert sum(told["si"][1]) > 0
    assert [area * 0.09290304 for area in told["us"][1]] == pytest.approx(told["si"][1], abs=0.01)
