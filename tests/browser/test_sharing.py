"""The office shares and sends, a stranger opens it on a telephone, by day and by night; axe finds nothing."""

from datetime import timedelta

import pytest
from django.urls import reverse

from accounts.calc.audience import Audience
from core.calc.jobs import JobState
from core.calc.months import Months
from planning.models import Agreement
from reporting.models import DueReport, LinkOpening, Sending, SharedLink
from reporting.services import kept
from tests.browser.conftest import DESK, PHONE, press
from tests.clock import TODAY
from tests.factories import CleaningFactory, InfiltrationTestFactory, RoundFactory, SendingFactory


def fits(page):
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.fixture
def recorded(firm):
    """A surface with a test that passes, one that deviates, and a cleaning between them."""
    for days, seconds in ((20, 60.0), (5, 900.0)):
        round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=days))
        InfiltrationTestFactory(round=round_, elapsed_s=seconds, recorded_by=firm.technician)
    CleaningFactory(surface=firm.surface, cleaned_on=TODAY - timedelta(days=10))
    return firm


def test_a_link_for_an_inspector_is_made_opened_by_a_stranger_and_revoked(
    recorded, open_page, accessible, accessible_by_day_and_night
):
    office = open_page(recorded.coordinator, reverse("reporting:inspector-create"), size=DESK)
    accessible(office)
    office.get_by_label("Who it is for").fill("City drainage office")
    office.get_by_role("checkbox", name=recorded.site.name).check()
    press(office, "Make the link")
    accessible(office)
    press(office, "Show the address")
    accessible(office)
    address = office.get_by_label("Address").input_value()

    stranger = open_page(None, address, size=PHONE)
    accessible_by_day_and_night(stranger)
    assert fits(stranger)
    assert stranger.get_by_role("link", name="Test certificate").count() == 2
    certificate = stranger.request.get(
        address + stranger.get_by_role("link", name="Test certificate").first.get_attribute("href")
    )
    assert certificate.headers["content-type"] == "application/pdf"
    assert LinkOpening.objects.filter(part="page").exists()

    press(office, "Done, I have copied it", role="link")
    assert "opened 2 times" in office.locator("main").inner_text()  # the page and a certificate
    accessible(office)
    press(office, "Revoke")
    stranger.reload()
    assert "This link has ended" in stranger.locator("main").inner_text()
    assert recorded.site.name not in stranger.content()
    accessible_by_day_and_night(stranger)


def test_a_due_report_is_sent_and_its_pages_are_accessible_and_fit_a_telephone(
    recorded, open_page, accessible, accessible_by_day_and_night
):
    Agreement.objects.create(site=recorded.site, report_months=Months([TODAY.month]))
    since = TODAY - timedelta(days=90)
    DueReport.objects.create(site=recorded.site, month=TODAY.replace(day=1), since=since)
    earlier = kept.freeze_handover(surface=recorded.surface, audience=Audience.OWNER, by=recorded.coordinator)
    SendingFactory(document=earlier, state=JobState.FAILED, error="The mail server did not take it.")
    office = open_page(recorded.coordinator, "/", size=PHONE)
    assert "1 report to send by agreement" in office.locator("main").inner_text()
    accessible(office)
    press(office, "See and send", role="link")
    accessible_by_day_and_night(office)
    assert fits(office)
    press(office, f"Report of {recorded.site.name} for", role="link")
    accessible(office)
    assert fits(office)
    office.get_by_label("Other addresses").fill("drains@city.example")
    office.get_by_label("Send the next ones by themselves").check()
    press(office, "Send this report")

    assert Sending.objects.exclude(document=earlier).count() == 2
    accessible_by_day_and_night(office)
    assert fits(office)
    link = SharedLink.objects.get(for_whom="drains@city.example")
    for url in (link.get_absolute_url(), reverse("reporting:report-site", args=[recorded.site.pk])):
        office.goto(url)
        accessible(office)
        assert fits(office), url
    press(office, "Have them wait for me")

    office.goto(link.get_absolute_url())
    press(office, "Show the address")
    stranger = open_page(None, office.get_by_label("Address").input_value(), size=PHONE)
    accessible_by_day_and_night(stranger)
    assert fits(stranger)
