"""The calendar in a real browser, on a phone and a desk; axe finds nothing."""

import pytest

from tests.browser.conftest import DESK, PHONE
from tests.clock import TODAY
from tests.factories import CrewAbsenceFactory, CrewFactory, VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize(("size", "listed"), [(PHONE, True), (DESK, False)], ids=["phone", "desk"])
def test_a_month_is_read_and_left_by_keyboard_and_axe_finds_nothing(
    firm, open_page, accessible, size, listed
):
    crew = CrewFactory(organisation=firm.organisation, name="North", latitude_deg=0.4, longitude_deg=0.2)
    CrewAbsenceFactory(crew=crew, reason="training")
    visit = VisitFactory(crew=crew, visit_on=TODAY)
    VisitTaskFactory(visit=visit, surface=firm.surface)
    page = open_page(firm.coordinator, "/visits/calendar/", size=size)

    accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    assert page.locator(".cal-list--under-month").is_visible() == listed
    assert page.locator(".cal__entries").first.is_visible() != listed
    if listed:
        page.locator(".cal__count").focus()
        page.keyboard.press("Enter")
        assert page.url.endswith(f"#day-{TODAY:%Y-%m-%d}")
    week = page.get_by_role("link", name="Week", exact=True)
    week.focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert "view=week" in page.url
    accessible(page)
    for path in (f"/crews/{crew.pk}/day/", "/calendar/addresses/"):
        page.goto(path)
        accessible(page)
