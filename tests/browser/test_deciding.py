"""The office decides on advice on a telephone and at a desk, releases it, and the owner reads it; axe finds nothing."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.calc.advice_payload import Grounds
from maintenance.models import AdviceRelease, Recommendation
from maintenance.services import forecasts
from tests.browser.conftest import DESK, PHONE, press
from tests.clock import TODAY
from tests.factories import CrewFactory, InfiltrationTestFactory, RoundFactory, SurfaceFactory


@pytest.fixture
def advised(firm):
    """Two surfaces of one site that need the same visit; one of them has a forecast."""
    for days, seconds in ((700, 60.0), (60, 400.0)):
        round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=days))
        InfiltrationTestFactory(round=round_, elapsed_s=seconds)
    forecasts.refresh(firm.surface.pk)
    Recommendation.objects.all().delete()
    CrewFactory(organisation=firm.organisation)
    return [_advise(firm.surface), _advise(SurfaceFactory(site=firm.site))]


def _advise(surface):
    return Recommendation.objects.create(
        surface=surface,
        action="clean",
        method="vacuum",
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=Decimal("450.00"),
        waiting_costs=Decimal("120.00"),
        crew_hours=1.5,
        grounds=Grounds(1, ("It clogs.",)),
    )


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_trip_is_ticked_released_and_read_by_the_owner(firm, advised, open_page, accessible, size):
    page = open_page(firm.coordinator, "/", size=size)
    accessible(page)
    page.get_by_role("checkbox", name="Choose Clean: vacuum sweeping").check()
    press(page, "Release to owners")
    accessible(page)
    press(page, "Release it")

    assert AdviceRelease.objects.count() == 2
    owner = open_page(firm.owner_person, "/", size=size)
    accessible(owner)
    owner.get_by_role("link", name="Clean: vacuum sweeping").first.click()
    owner.wait_for_url("**/released/**")
    assert "450" in owner.locator("main").inner_text()
    accessible(owner)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_pages_of_the_office_are_accessible_and_fit_the_screen(
    firm, advised, open_page, accessible, size
):
    row = advised[0]
    page = open_page(firm.coordinator, reverse("planning:budget-plan") + "?amount=500", size=size)
    for address in (
        None,
        reverse("planning:release-list"),
        reverse("planning:learning-show"),
        reverse("planning:due-list"),
        reverse("planning:recommendation-detail", args=[row.pk]),
        reverse("maintenance:recommendation-why", args=[row.pk]),
        f"{reverse('planning:advice-put-off')}?advice={row.pk}",
        f"{reverse('planning:advice-plan')}?advice={row.pk}",
    ):
        if address:
            page.goto(address)
        accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), page.url
