"""The page of first steps, and when it is the first page."""

import pytest
from django.urls import reverse

from accounts.calc.roles import Role
from tests.factories import (
    InfiltrationTestFactory,
    MembershipFactory,
    OwnerFactory,
    RoundFactory,
    SiteFactory,
)

STEPS = reverse("reporting:start-steps")


@pytest.fixture
def newcomer(client, db):
    membership = MembershipFactory(role=Role.ADMIN)
    client.force_login(membership.user)
    client.organisation = membership.organisation
    return client


def test_it_is_the_first_page_of_a_firm_that_has_nothing(newcomer):
    page = newcomer.get("/").content.decode()

    assert "<h1>First steps</h1>" in page
    assert f'href="{reverse("accounts:owner-create")}"' in page
    assert reverse("exchange:import-list") in page


def test_with_owner_and_site_it_asks_for_a_surface_and_never_again_for_an_owner(newcomer):
    site = SiteFactory(owner=OwnerFactory(organisation=newcomer.organisation))

    page = newcomer.get("/").content.decode()

    assert reverse("qa:surface-create", args=[site.pk]) in page
    assert f'href="{reverse("accounts:owner-create")}"' not in page


def test_a_firm_that_has_begun_sees_what_needs_doing_and_what_comes_next(client, firm):
    client.force_login(firm.coordinator)

    page = client.get("/").content.decode()

    assert "What needs doing" in page
    assert "Next: record its first test." in page
    assert STEPS in page
    assert "First steps" in client.get(STEPS).content.decode()


def test_once_a_forecast_is_asked_for_alone_it_says_so(client, firm):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    client.force_login(firm.coordinator)

    assert "Next: see the first forecast." in client.get("/").content.decode()


@pytest.mark.parametrize("who", ["viewer", "technician"])
def test_who_does_not_plan_is_not_told_on_the_first_page(client, firm, who):
    client.force_login(getattr(firm, who))

    assert "First steps, " not in client.get(reverse("reporting:todo-list")).content.decode()


def test_it_is_reached_from_the_firms_page(client, firm):
    client.force_login(firm.viewer)

    assert f'href="{STEPS}"' in client.get(reverse("accounts:firm")).content.decode()


def test_the_list_of_what_needs_doing_leads_back_to_it(newcomer):
    page = newcomer.get(reverse("reporting:todo-list")).content.decode()

    assert "The first steps" in page
