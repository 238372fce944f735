"""Who reads what care costs, who sets what it is worth, and what is stored of bad figures."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from maintenance.forms.care import CareValueForm
from maintenance.selectors.care import below_price_m2_yr
from qa.models import Site
from qa.services import register
from tests.factories import SiteFactory, SurfaceFactory
from tests.pages import as_shown
from tests.refusals import refused
from tests.sending import as_shown as fields_of
from tests.sending import everything_stored

BUTTON = "What a year within is worth"


def page(client, surface):
    return client.get(reverse("maintenance:care-detail", args=[surface.pk]))


def value_url(surface):
    return reverse("maintenance:care-value", args=[surface.pk])


@pytest.mark.parametrize(
    ("who", "status"),
    [
        ("viewer", 200),
        ("technician", 200),
        ("coordinator", 200),
        ("admin", 200),
        ("owner_person", 403),
        ("outsider", 404),
    ],
)
def test_the_comparison_is_read_by_the_firm_alone(client, firm, who, status):
    client.force_login(getattr(firm, who))

    assert page(client, firm.surface).status_code == status


@pytest.mark.parametrize(
    ("who", "offered"), [("viewer", False), ("technician", False), ("coordinator", True), ("admin", True)]
)
def test_only_who_may_set_the_worth_is_offered_to(client, firm, who, offered):
    client.force_login(getattr(firm, who))

    assert (BUTTON in as_shown(page(client, firm.surface).content.decode())) is offered


@pytest.mark.parametrize(
    ("who", "status"), [("viewer", 403), ("technician", 403), ("owner_person", 403), ("outsider", 404)]
)
def test_who_may_not_set_the_worth_stores_nothing(client, firm, who, status):
    client.force_login(getattr(firm, who))
    before = everything_stored()

    answer = client.post(value_url(firm.surface), {"below_price_m2_yr": "9.00"})

    assert answer.status_code == status
    assert everything_stored() == before


@pytest.mark.parametrize("typed", ["-0.01", "much", "1234567.00", "1.00005", "NaN", "Infinity"])
def test_a_worth_that_cannot_be_is_refused_beside_its_field_with_nothing_stored(client, firm, typed):
    client.force_login(firm.coordinator)
    sent = fields_of(client.get(value_url(firm.surface)).content.decode())
    before = everything_stored()

    answer = client.post(value_url(firm.surface), sent | {"below_price_m2_yr": typed})

    assert answer.context["form"].errors["below_price_m2_yr"]
    assert everything_stored() == before
    assert typed in answer.content.decode(), "what was typed is still there"


@pytest.mark.parametrize(("typed", "stored"), [("0", Decimal(0)), ("12.5", Decimal("12.50")), ("", None)])
def test_a_worth_is_stored_for_the_site_and_an_empty_one_gives_way(client, firm, typed, stored):
    Site.objects.filter(pk=firm.site.pk).update(below_price_m2_yr=3)
    client.force_login(firm.coordinator)
    sent = fields_of(client.get(value_url(firm.surface)).content.decode())

    answer = client.post(value_url(firm.surface), sent | {"below_price_m2_yr": typed})

    firm.site.refresh_from_db()
    assert answer.url == reverse("maintenance:care-detail", args=[firm.surface.pk])
    assert firm.site.below_price_m2_yr == stored


def test_the_worth_of_one_site_leaves_other_sites_and_their_advice_alone(client, firm):
    beside = SurfaceFactory(site=SiteFactory(owner=firm.owner))
    neighbour = SurfaceFactory(site=firm.site)
    client.force_login(firm.coordinator)
    sent = fields_of(client.get(value_url(firm.surface)).content.decode())
    versions = {surface.pk: surface.record_version for surface in (beside, neighbour)}

    client.post(value_url(firm.surface), sent | {"below_price_m2_yr": "7.00"})

    for surface in (beside, neighbour):
        surface.refresh_from_db()
    assert neighbour.record_version > versions[neighbour.pk]
    assert beside.record_version == versions[beside.pk]
    assert beside.site.below_price_m2_yr is None


def test_the_form_holds_the_worth_and_nothing_else_of_the_site():
    assert [name for name in CareValueForm.base_fields if "seen" not in name] == ["below_price_m2_yr"]


@pytest.mark.parametrize(
    ("site", "owner", "worth"),
    [(None, None, "4.00"), (None, "2.00", "2.00"), ("9.00", "2.00", "9.00"), ("0.00", "2.00", "0.00")],
)
def test_the_nearest_that_says_a_worth_is_gone_by_even_where_it_is_nothing(firm, site, owner, worth):
    firm.site.below_price_m2_yr = site and Decimal(site)
    firm.site.owner.below_price_m2_yr = owner and Decimal(owner)
    firm.surface.site = firm.site

    assert below_price_m2_yr(firm.surface) == Decimal(worth)


def test_a_service_refuses_a_worth_below_nothing_too(firm):
    firm.site.below_price_m2_yr = Decimal("-1")

    with refused(ValidationError, beside="below_price_m2_yr"):
        register.save_site(site=firm.site)
