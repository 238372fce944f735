"""A surface that is not open yet has no rate of today: every page says when it opens, and what is only expected."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils.timezone import localdate

from maintenance.services import forecasts
from tests.pages import as_shown

OPENS = timedelta(days=90)


@pytest.fixture
def coming(firm):
    """The firm's surface, to be opened in 90 days, with its forecast made."""
    firm.surface.opened_on = localdate() + OPENS
    firm.surface.save()
    forecasts.refresh(firm.surface.pk)
    return firm


def page(client, person, url):
    client.force_login(person)
    return as_shown(client.get(url).content.decode())


def test_the_surfaces_page_speaks_of_its_opening_and_not_of_today(client, coming):
    text = page(client, coming.technician, coming.surface.get_absolute_url())

    assert "Not open yet: it opens on" in text
    assert "Rate when it opens, expected" in text
    assert "Rate now, estimated" not in text
    assert "What each way of cleaning would give" not in text


def test_the_list_and_its_export_give_no_rate_of_today(client, coming):
    url = reverse("maintenance:surface-list")

    listed = page(client, coming.viewer, url)
    exported = client.get(f"{url}?export=csv").getvalue().decode().splitlines()[1].split(",")

    assert "<span>opens " in listed
    assert (exported[5], exported[7]) == ("", "")


@pytest.mark.parametrize("name", ["reporting:site-detail", "reporting:report-site"])
def test_site_and_report_say_when_it_opens(client, coming, name):
    text = page(client, coming.owner_person, reverse(name, args=[coming.site.pk]))

    assert "<span>opens " in text
    assert ", opened " not in text


def test_the_owners_first_page_says_when_it_opens(client, coming):
    text = page(client, coming.owner_person, "/")

    assert "opens " in text
    assert "about " not in text


def test_an_open_surface_says_on_which_day_its_cleanings_are_compared(client, firm):
    forecasts.refresh(firm.surface.pk)

    text = page(client, firm.technician, firm.surface.get_absolute_url())

    assert "As if done on" in text
    assert "Rate now, estimated" in text
