"""The first page of an owner's people."""

from datetime import timedelta

import pytest
from django.urls import reverse

from maintenance.calc.vocabulary import SurfaceState
from maintenance.models import Forecast
from maintenance.services.releases import release
from qa.models import Surface
from reporting.presentation import pages as presented
from reporting.selectors.sites import sites_in_service, start_snapshot
from reporting.views import pages
from tests.clock import START
from tests.factories import (
    OwnerFactory,
    OwnerPersonFactory,
    RecommendationFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db


def test_two_sites_of_one_name_of_two_firms_stand_on_the_first_page_each_once():
    person = UserFactory()
    for names in (("A", "C"), ("B", "D")):
        owner = OwnerFactory()
        OwnerPersonFactory(owner=owner, user=person)
        site = SiteFactory(owner=owner, name="School")
        for name in names:
            SurfaceFactory(site=site, name=name)

    listed = start_snapshot(person, START).sites

    assert sorted([surface.name for surface in site.surfaces] for site in listed) == [["A", "C"], ["B", "D"]]


@pytest.fixture
def owner_of_many(monkeypatch):
    """Somebody who reads seven sites of three surfaces, of which one page shows two sites."""
    monkeypatch.setattr(pages, "SITES_A_PAGE", 2)
    person, owner = UserFactory(), OwnerFactory()
    OwnerPersonFactory(owner=owner, user=person)
    for number in range(7):
        site = SiteFactory(owner=owner, name=f"Site {number}")
        for name in "ABC":
            surface = SurfaceFactory(site=site, name=name)
            Forecast.objects.create(surface=surface, surface_state=SurfaceState.BELOW_LIMIT)
    SurfaceFactory(site=SiteFactory(owner=owner, name="Gone"), removed_on=START.date())
    return person


def shown_on(client, **query):
    page = client.get(reverse("reporting:start"), query)
    return [site.name for site in page.context["page"].sites], page.content.decode()


def test_a_page_shows_some_sites_and_counts_the_surfaces_of_all(client, owner_of_many):
    client.force_login(owner_of_many)

    seen = [shown_on(client, page=number) for number in (1, 2, 3, 4)]

    assert [names for names, _ in seen] == [
        ["Site 0", "Site 1"],
        ["Site 2", "Site 3"],
        ["Site 4", "Site 5"],
        ["Site 6"],
    ]
    assert all('<b class="num">21</b>' in text for _, text in seen)
    assert "1 to 2 of 7" in seen[0][1]


def test_a_page_that_is_not_there_is_the_nearest_one(client, owner_of_many):
    client.force_login(owner_of_many)

    assert shown_on(client, page="x")[0] == ["Site 0", "Site 1"]
    assert shown_on(client, page="99")[0] == ["Site 6"]


def test_only_sites_with_a_surface_in_service_are_listed(owner_of_many):
    assert "Gone" not in [site.name for site in sites_in_service(owner_of_many)]


def test_what_comes_next_is_told_a_page_at_a_time_for_all_sites(client, owner_of_many, monkeypatch):
    monkeypatch.setattr(presented, "ADVICE_A_PAGE", 2)
    coordinator = UserFactory()
    last = Surface.objects.for_user(owner_of_many).filter(site__name="Site 6")
    for number, surface in enumerate(last):
        advice = RecommendationFactory(surface=surface, due_on=START.date() + timedelta(days=number))
        release(recommendations=[advice], by=coordinator)
    client.force_login(owner_of_many)

    first, second = (client.get(reverse("reporting:start"), {"coming": page}) for page in (1, 2))

    assert [piece.surface.name for piece in first.context["coming"]] == ["A", "B"]
    assert [piece.surface.name for piece in second.context["coming"]] == ["C"]
    assert "1 to 2 of 3" in first.content.decode()
