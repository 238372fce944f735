"""What another edition of the program stored leads to words, never to a broken page."""

import pytest
from django.urls import reverse

from maintenance.models import Forecast, PortfolioFit, Recommendation
from maintenance.services import forecasts
from qa.models import CheckEntry, InfiltrationTest, Outline, OwnBand, Sieving, Site
from tests.factories import InfiltrationTestFactory, RoundFactory
from tests.permissions import rows_of

OTHERS = [{"schema": 0}, {"schema": 99, "rate": 1.0}, {"gains": []}, [], "x"]


@pytest.fixture
def forecast(firm):
    """A real forecast of a tested surface."""
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    forecasts.refresh(firm.surface.pk)
    return Forecast.objects.get(surface=firm.surface)


def store(forecast, stored):
    Forecast.objects.filter(pk=forecast.pk).update(outlook_json=stored)
    forecast.refresh_from_db()


@pytest.mark.parametrize("stored", OTHERS, ids=str)
def test_a_forecast_of_another_edition_is_said_to_be_made_anew(client, firm, forecast, stored):
    store(forecast, stored)
    client.force_login(firm.viewer)

    page = client.get(firm.surface.get_absolute_url())

    assert page.status_code == 200
    assert "made by another edition of this program and is being updated" in page.content.decode()


@pytest.mark.parametrize("stored", OTHERS, ids=str)
def test_no_page_breaks_on_a_forecast_of_another_edition(client, firm, forecast, stored):
    store(forecast, stored)
    client.force_login(firm.admin)
    pages = [
        reverse("reporting:start"),
        reverse("reporting:report-site", args=[firm.site.pk]),
        reverse("reporting:site-detail", args=[firm.site.pk]),
        reverse("maintenance:surface-list"),
        reverse("maintenance:calibration"),
    ]

    assert [client.get(page).status_code for page in pages] == [200] * len(pages)


@pytest.mark.parametrize("stored", OTHERS, ids=str)
def test_a_forecast_of_another_edition_is_stale_and_is_made_anew(forecast, stored):
    assert not Forecast.objects.wanted().exists()

    store(forecast, stored)

    assert forecast.is_stale
    assert list(Forecast.objects.wanted()) == [forecast]
    assert forecasts.refresh(forecast.surface_id) == "done"
    forecast.refresh_from_db()
    assert forecast.outlook is not None


def test_a_refused_record_is_not_tried_again_because_of_an_old_forecast(forecast):
    store(forecast, {"schema": 0})
    Forecast.objects.update(error="Event 2 lies before event 1.")

    assert not Forecast.objects.wanted().exists()


@pytest.mark.parametrize("stored", OTHERS, ids=str)
def test_advice_of_another_edition_says_so_in_place_of_its_reasons(client, firm, stored):
    row = Recommendation.objects.get(pk=rows_of(firm)["recommendation"])
    Recommendation.objects.update(grounds_json=stored)
    client.force_login(firm.viewer)

    pages = [client.get(row.get_absolute_url()), client.get(reverse("reporting:start"))]

    for page in pages:
        assert page.status_code == 200
        assert "Why it was advised is not shown." in page.content.decode()


def test_advice_of_another_edition_can_still_be_declined(client, firm):
    row = Recommendation.objects.get(pk=rows_of(firm)["recommendation"])
    Recommendation.objects.update(grounds_json={"schema": 0})
    client.force_login(firm.coordinator)

    client.post(reverse("planning:recommendation-decline", args=[row.pk]), {"reason": "Rebuilt in spring."})

    row.refresh_from_db()
    assert (row.status, row.grounds_json) == ("declined", {"schema": 0})


@pytest.mark.parametrize("stored", OTHERS, ids=str)
def test_a_backtest_of_another_edition_is_left_out(client, firm, stored):
    PortfolioFit.objects.create(
        organisation=firm.organisation,
        state="done",
        result=forecasts.api.prior_fit().to_dict(),
        backtest_json=stored,
        finished_at="2026-06-01T00:00Z",
    )
    client.force_login(firm.viewer)

    page = client.get(reverse("maintenance:calibration"))

    assert page.status_code == 200
    assert "Against simpler ways" not in page.content.decode()


FACTS = {
    "readings of a test": (InfiltrationTest, "readings_json", "test", "qa:test-detail"),
    "departures of a test": (InfiltrationTest, "deviations_json", "test", "qa:round-detail"),
    "what a check asked": (CheckEntry, "criterion_json", "check", "qa:check-detail"),
    "a sieve analysis": (Sieving, "readings_json", "sieving", "qa:sieving-detail"),
    "an own band": (OwnBand, "limits_json", None, "qa:rule-list"),
    "months of a site": (Site, "frost_months_json", "site", "reporting:site-detail"),
}


@pytest.mark.parametrize(("model", "column", "kind", "route"), FACTS.values(), ids=FACTS)
def test_a_page_says_that_a_record_of_another_edition_cannot_be_read(
    client, firm, model, column, kind, route, caplog
):
    rows = rows_of(firm)
    changes = {"method": "frame"} if column == "readings_json" and model is InfiltrationTest else {}
    model.objects.update(**{column: {"schema": 99}}, **changes)
    args = [] if kind is None else [rows["round" if route == "qa:round-detail" else kind]]
    client.force_login(firm.coordinator)

    page = client.get(reverse(route, args=args))

    assert page.status_code == 409
    assert "A record on this page cannot be read" in page.content.decode()
    assert "Nothing is lost" in page.content.decode()
    assert "schema 99" in caplog.text


def test_reading_a_row_of_another_edition_and_saving_it_keeps_what_it_has(firm):
    Site.objects.update(frost_months_json={"schema": 99, "odd": 1})
    site = Site.objects.get(pk=firm.site.pk)
    site.name = "New name"

    site.save()

    site.refresh_from_db()
    assert site.frost_months_json == {"schema": 99, "odd": 1}


def test_a_plan_of_another_edition_leaves_the_rest_of_the_page(client, firm):
    outline = Outline(surface=firm.surface)
    outline.plan_json = {"schema": 99}
    outline.save()
    client.force_login(firm.viewer)

    page = client.get(firm.surface.get_absolute_url())

    assert page.status_code == 200
    assert "The plan cannot be drawn: It was stored by another edition" in page.content.decode()
