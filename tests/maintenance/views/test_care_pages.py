"""The page on what care costs at a surface and what it gives."""

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.models import Forecast
from maintenance.services import forecasts
from tests.factories import InfiltrationTestFactory, RoundFactory
from tests.pages import as_shown
from tests.sending import as_shown as fields_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def compared(firm, client):
    """A surface of the firm with its programmes compared, seen by the coordinator."""
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), elapsed_s=380.0)
    forecasts.refresh(firm.surface.pk)
    client.force_login(firm.coordinator)
    return firm.surface


def page_of(client, surface):
    return as_shown(client.get(reverse("maintenance:care-detail", args=[surface.pk])).content.decode())


def test_the_page_sets_the_suggested_programme_beside_its_rivals(client, compared):
    text = page_of(client, compared)

    care = Forecast.objects.get(surface=compared).outlook.care
    assert "Suggested" in text
    assert "Next best" in text
    assert f"A year below its limit counts as {4 * compared.area_m2:,.0f} EUR here" in text
    assert f"{care.futures} courses" in text
    assert "What would change this" in text


def test_the_charts_are_told_as_tables_too(client, compared):
    response = client.get(reverse("maintenance:care-detail", args=[compared.pk]))

    care = response.context["care"]
    stored = Forecast.objects.get(surface=compared).outlook.care
    assert len(care.rows) == len(stored.outcomes)
    assert [row[0] for row in care.year_rows] == [str(2026 + i) for i in range(10)]
    drawn = sum(len(trace["x"]) for trace in care.frontier["data"])
    assert drawn == len(stored.outcomes) + 1, "each programme, and the mark of the suggested one"


def test_before_the_first_forecast_the_page_says_what_it_waits_for(client, firm):
    client.force_login(firm.coordinator)

    assert "The comparison comes with the next forecast" in page_of(client, firm.surface)


def test_what_a_year_within_is_worth_is_stored_for_the_site_and_asks_for_new_advice(client, compared):
    url = reverse("maintenance:care-value", args=[compared.pk])
    version = compared.record_version

    answer = client.post(url, fields_of(client.get(url).content.decode()) | {"below_price_m2_yr": "7.25"})

    compared.refresh_from_db()
    compared.site.refresh_from_db()
    assert answer.status_code == 302
    assert compared.site.below_price_m2_yr == Decimal("7.25")
    assert compared.record_version > version
    assert "was changed since" in page_of(client, compared)


def test_a_value_below_nothing_is_refused(client, compared):
    url = reverse("maintenance:care-value", args=[compared.pk])

    answer = client.post(url, {"below_price_m2_yr": "-1"})

    assert answer.context["form"].errors["below_price_m2_yr"]


def test_an_older_page_of_the_value_stores_nothing(client, compared):
    url = reverse("maintenance:care-value", args=[compared.pk])
    page = fields_of(client.get(url).content.decode())
    type(compared.site).objects.filter(pk=compared.site_id).update(below_price_m2_yr=3)

    answer = client.post(url, page | {"below_price_m2_yr": "7.25"})

    assert "Changed since this page was opened" in answer.content.decode()


def test_the_sites_value_goes_before_the_owners_and_that_before_the_firms(compared):
    def worth():
        forecasts.force_refresh(surface=compared)
        forecasts.refresh(compared.pk)
        return Forecast.objects.get(surface=compared).outlook.care.below_price_m2_yr

    site, owner = compared.site, compared.site.owner
    type(owner).objects.filter(pk=owner.pk).update(below_price_m2_yr=2)
    by_owner = worth()
    type(site).objects.filter(pk=site.pk).update(below_price_m2_yr=9)

    assert (by_owner, worth()) == (2.0, 9.0)


def test_the_owners_people_are_offered_no_link_to_the_firms_comparison(client, firm):
    client.force_login(firm.owner_person)

    assert "What care costs here" not in client.get(firm.surface.get_absolute_url()).content.decode()


def test_a_programme_beside_the_suggested_one_is_chosen_by_its_figure(client, compared):
    """The way from the table leads to the form with the figure in it; stored, it is that of the suggestion."""
    chosen = rival_links(client.get(reverse("maintenance:care-detail", args=[compared.pk])).content.decode())[
        0
    ]

    page = client.get(chosen).content.decode()
    client.post(chosen.partition("?")[0], fields_of(page))

    compared.site.refresh_from_db()
    assert f"{compared.site.below_price_m2_yr:.2f}" == chosen.partition("worth=")[2]


@pytest.mark.parametrize("worth", ["abc", "-1", "%00", "1e999", ""])
def test_an_address_with_another_figure_stores_nothing(client, compared, worth):
    url = reverse("maintenance:care-value", args=[compared.pk])

    page = client.get(f"{url}?worth={worth}")
    client.post(url, fields_of(page.content.decode()))

    compared.site.refresh_from_db()
    assert page.status_code == 200
    assert compared.site.below_price_m2_yr is None


def rival_links(page):
    return re.findall(r'href="([^"]+\?worth=[^"]+)"', page)
