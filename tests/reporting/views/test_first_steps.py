"""The page of first steps, and when it is the first page."""

import pytest
from django.urls import reverse

from accounts.calc.roles import Role
from maintenance.models import Forecast
from qa.models import Surface
from reporting.selectors.first_steps import progress_of
from tests.clock import TODAY
from tests.factories import (
    InfiltrationTestFactory,
    MembershipFactory,
    OwnerFactory,
    RoundFactory,
    SiteFactory,
    small_outlook,
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


def test_a_firm_whose_surfaces_are_all_removed_does_not_begin_anew(client, firm):
    Surface.objects.update(removed_on=TODAY)
    client.force_login(firm.coordinator)

    page = client.get("/").content.decode()

    assert "What needs doing" in page
    assert "<h1>First steps</h1>" not in page


def counted_steps(monkeypatch):
    """Each time that the whole of the steps is asked for."""
    asked = []

    def counting(*args, **kwargs):
        asked.append(args)
        return progress_of(*args, **kwargs)

    for page in ("pages", "first_steps"):
        monkeypatch.setattr(f"reporting.views.{page}.progress_of", counting)
    return asked


def test_the_steps_are_worked_out_once_a_page(newcomer, monkeypatch):
    asked = counted_steps(monkeypatch)

    newcomer.get("/")

    assert len(asked) == 1


def test_once_there_is_a_forecast_the_steps_are_worked_out_no_more(client, firm, monkeypatch):
    client.force_login(firm.coordinator)
    asked = counted_steps(monkeypatch)
    client.get("/")
    assert len(asked) == 1
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    forecast, _ = Forecast.objects.get_or_create(surface=firm.surface)
    forecast.outlook = small_outlook()
    forecast.save()

    page = client.get("/").content.decode()

    assert len(asked) == 1
    assert "First steps, " not in page
