"""A technician's day on a phone: what comes first is in sight, the way is one press, and axe finds nothing."""

import pytest

from tests.browser.conftest import PHONE
from tests.clock import TODAY
from tests.factories import CrewFactory, VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_next_task_is_in_sight_and_the_page_reads_well(firm, open_page, accessible, scheme):
    firm.site.latitude_deg, firm.site.longitude_deg, firm.site.access_note = (
        48.5,
        -1.25,
        "Key at the gatehouse",
    )
    firm.site.save()
    crew = CrewFactory(organisation=firm.organisation, name="North")
    crew.people.add(firm.technician)
    visit = VisitFactory(crew=crew, visit_on=TODAY, organisation=firm.organisation)
    for action in ("inspect", "test"):
        VisitTaskFactory(visit=visit, surface=firm.surface, action=action)

    page = open_page(firm.technician, "/", color_scheme=scheme)

    key = page.get_by_role("link", name="Record the").first
    bar = page.locator("nav").last.bounding_box()
    box = key.bounding_box()
    assert box["y"] + box["height"] <= min(PHONE["height"], bar["y"] if bar["y"] > 400 else PHONE["height"])
    assert box["height"] >= 44
    assert page.get_by_role("link", name="Find the way").get_attribute("href").startswith("geo:48.5")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    accessible(page)
    page.get_by_role("link", name="All that needs doing").click()
    page.get_by_role("heading", name="What needs doing").wait_for()
