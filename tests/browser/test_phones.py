"""The page of phones, as the office reads it."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from tests.browser.conftest import PHONE, press
from tests.fieldwork.factories import HeldEntryFactory, PhoneFactory

pytestmark = pytest.mark.django_db(transaction=True)


def test_what_is_lost_is_found_and_dealt_with_by_keyboard_and_axe_finds_nothing(
    firm, open_page, accessible_by_day_and_night
):
    phone = PhoneFactory(
        organisation=firm.organisation, person=firm.technician, is_protected=False, offset_s=172_800.0
    )
    HeldEntryFactory(phone=phone, state="lost", lost_at=now(), title="Sieve analysis")
    HeldEntryFactory(
        phone=phone,
        state="parked",
        parked_at=now() - timedelta(days=2),
        title="Test",
        reason="Round set aside.",
    )
    HeldEntryFactory(phone=phone, title="Cleaning")

    page = open_page(firm.coordinator, "/todo/")
    press(page, "See which", "link")
    accessible_by_day_and_night(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    press(page, "Sieve analysis", "link")
    accessible_by_day_and_night(page)
    page.get_by_label("Reason").fill("Sieved again.")
    press(page, "Take it off the list")

    assert page.get_by_role("heading", name="Sieve analysis").count() == 0
    assert page.get_by_role("heading", name="Cleaning").count() == 1
