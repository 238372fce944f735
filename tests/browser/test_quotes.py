"""The office quotes ticked work, the owner approves it on a telephone, the visit says so; axe finds nothing."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.calc.advice_payload import Grounds
from maintenance.models import Recommendation
from planning.calc.vocabulary import QuoteState
from planning.models import Agreement, QuoteVersion
from planning.services import visits
from tests.browser.conftest import DESK, PHONE, press
from tests.clock import TODAY
from tests.factories import CleaningFactory, CrewFactory, PriceListFactory, QuoteLineFactory


@pytest.fixture
def advised(firm):
    """A firm with a price list, and one piece of advice above the price from which it needs an approval."""
    PriceListFactory(organisation=firm.organisation)
    firm.organisation.approval_above = Decimal(100)
    firm.organisation.save()
    return Recommendation.objects.create(
        surface=firm.surface,
        action="clean",
        method="vacuum",
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=Decimal("500.00"),
        waiting_costs=Decimal("120.00"),
        crew_hours=1.5,
        grounds=Grounds(1, ("It clogs.",)),
    )


def fits(page):
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_from_the_ticked_advice_to_the_approved_visit(firm, advised, open_page, accessible):
    office = open_page(firm.coordinator, "/", size=DESK)
    assert "needs the owner's approval" in office.locator("main").inner_text()
    office.get_by_role("checkbox", name="Choose Clean: vacuum sweeping").check()
    press(office, "Quote")
    accessible(office)
    press(office, "Make the draft")
    accessible(office)
    press(office, "Send to the owner")

    owner = open_page(firm.owner_person, "/", size=PHONE)
    accessible(owner)
    press(owner, f"Quote {TODAY.year}-0001 v1", role="link")
    accessible(owner)
    press(owner, "Approve or decline", role="link")
    accessible(owner)
    assert fits(owner)
    owner.get_by_label("Approve it").check()
    owner.get_by_label("Note to the firm").fill("Please in the holidays.")
    press(owner, "Give this answer")
    accessible(owner)

    version = QuoteVersion.objects.get()
    assert (version.state, version.decided_by) == (QuoteState.APPROVED, firm.owner_person)
    crew = CrewFactory(organisation=firm.organisation)
    visit = visits.plan(recommendation=advised, by=firm.coordinator, visit_on=TODAY, crew=crew)
    office.goto(visit.get_absolute_url())
    assert f"Approved by {firm.owner_person}" in office.locator("main").inner_text()
    accessible(office)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_pages_of_money_are_accessible_and_fit_the_screen(firm, advised, open_page, accessible, size):
    draft = {"version__state": "draft", "version__sent_at": None}
    version = QuoteLineFactory(version__quote__owner=firm.owner, recommendation=advised, **draft).version
    CleaningFactory(
        surface=firm.surface, cleaned_on=TODAY - timedelta(days=40), cost=Decimal(900), currency="EUR"
    )
    Agreement.objects.create(site=firm.site, price_per_year=Decimal(1200), currency="EUR")
    prices = firm.organisation.price_lists.get()
    edit = reverse("planning:quote-edit", args=[version.pk])
    addresses = {
        "phone": (reverse("maintenance:price-create"), version.get_absolute_url(), edit),
        "desk": (
            reverse("maintenance:price-list"),
            prices.get_absolute_url(),
            reverse("planning:quote-list"),
        ),
    }
    page = open_page(firm.coordinator, reverse("planning:cost-show"), size=size)
    for address in (None, *addresses["phone" if size is PHONE else "desk"]):
        if address:
            page.goto(address)
        accessible(page)
        assert fits(page), page.url


def test_an_older_version_on_an_open_telephone_is_not_approved(firm, advised, open_page, accessible):
    version = QuoteLineFactory(version__quote__owner=firm.owner, recommendation=advised).version
    owner = open_page(firm.owner_person, reverse("planning:quote-answer", args=[version.pk]), size=PHONE)
    office = open_page(firm.coordinator, reverse("planning:quote-edit", args=[version.pk]), size=DESK)
    office.get_by_label("price of one").first.fill("0.75")
    press(office, "Save the draft")
    press(office, "Send to the owner")

    owner.get_by_label("Approve it").check()
    owner.get_by_label("Note to the firm").fill("Yes please.")
    press(owner, "Give this answer")

    shown = owner.locator("main").inner_text()
    assert "was replaced by version 2" in shown
    assert owner.get_by_label("Note to the firm").input_value() == "Yes please."
    accessible(owner)
    version.refresh_from_db()
    assert version.state == QuoteState.REPLACED
