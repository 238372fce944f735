"""What the page of a surface says while its forecast is being made, and when it could not be made."""

import pytest
from django.urls import reverse

from core.services import jobs
from maintenance.models import Forecast
from maintenance.services import forecasts
from qa.services.changes import bump_record_version
from tests.factories import InfiltrationTestFactory, RoundFactory

ASKS_AGAIN = "data-then-anew"
UNFINISHED = "data-unfinished"


@pytest.fixture
def surface(firm, monkeypatch):
    """A tested surface with its forecast, in a server whose work is done elsewhere."""
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    forecasts.refresh(firm.surface.pk)
    monkeypatch.setattr(jobs, "_deliver", [lambda label, pk: None])
    return firm.surface


@pytest.fixture
def shown(client, firm, surface):
    """The page and the part of it that is asked for anew."""

    def show(person=firm.technician):
        client.force_login(person)
        part = client.get(reverse("reporting:forecast-progress", args=[surface.pk]))
        return client.get(surface.get_absolute_url()).content.decode(), part.content.decode()

    return show


def test_a_page_whose_forecast_is_there_asks_nothing(shown):
    page, part = shown()

    assert ASKS_AGAIN not in page
    assert part.strip() == ""


def test_a_changed_record_says_that_its_forecast_is_being_made_until_it_is(surface, shown):
    bump_record_version(surface.pk)
    forecasts.request_forecast(surface.pk)

    page, part = shown()

    assert ASKS_AGAIN in page
    for text in (page, part):
        assert "The record has changed; the forecast is being updated." in text
        assert UNFINISHED in text
    forecasts.refresh(surface.pk)
    assert UNFINISHED not in "".join(shown())


def test_a_refresh_that_somebody_asked_for_says_so(surface, shown):
    forecasts.force_refresh(surface=surface)

    page, part = shown()

    assert ASKS_AGAIN in page
    assert "The forecast is being updated." in part


def test_a_record_that_was_mended_is_not_called_faulty_while_its_forecast_is_made(surface, shown):
    Forecast.objects.update(error="Event 2 lies before event 1.", state="failed")
    before, _ = shown()
    bump_record_version(surface.pk)
    forecasts.request_forecast(surface.pk)

    page, part = shown()

    assert "Event 2 lies before event 1." in before
    assert ASKS_AGAIN not in before
    assert "Event 2" not in page + part
    assert UNFINISHED in part


def test_what_failed_is_told_and_not_waited_for(surface, shown):
    Forecast.objects.update(error=Forecast.TRIED_AGAIN, state="waiting", attempts=1)

    page, part = shown()

    assert ASKS_AGAIN not in page
    assert "It is tried again." in part


def test_an_owner_who_reads_along_sees_the_new_one_come_as_well(firm, surface, shown):
    forecasts.force_refresh(surface=surface)

    page, part = shown(firm.owner_person)

    assert ASKS_AGAIN in page
    assert UNFINISHED in part
