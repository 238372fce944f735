"""The list of visits: today's first, then what comes, then what was; narrowed by words, crew and state."""

from datetime import timedelta

import pytest
from django.urls import reverse

from planning.models import Visit
from planning.selectors.visits import today_first
from tests.clock import TODAY
from tests.factories import CrewFactory, SurfaceFactory, VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def visits(firm):
    """Visits of two crews, by how many days from today."""
    north, south = (CrewFactory(organisation=firm.organisation, name=name) for name in ("North", "South"))
    days = {-9: north, -2: south, 0: south, 1: north, 30: south}
    return {
        n: VisitFactory(
            organisation=firm.organisation, crew=crew, visit_on=TODAY + timedelta(days=n),
            status="scheduled" if n >= 0 else "done",
        )
        for n, crew in days.items()
    }  # fmt: skip


def listed(client, firm, **asked):
    client.force_login(firm.technician)
    table = client.get(reverse("planning:visit-list"), asked).context["table"]
    return [(row.record.visit_on - TODAY).days for row in table.rows]


def test_todays_come_first_then_the_next_then_the_latest_that_was(visits):
    order = [(v.visit_on - TODAY).days for v in today_first(Visit.objects.all(), TODAY)]

    assert order == [0, 1, 30, -2, -9]


def test_the_page_lists_them_so_and_by_day_when_asked(client, firm, visits):
    assert listed(client, firm) == [0, 1, 30, -2, -9]
    assert listed(client, firm, sort="visit_on") == [-9, -2, 0, 1, 30]


def test_it_is_narrowed_by_crew_and_state(client, firm, visits):
    assert listed(client, firm, crew=str(visits[0].crew.pk)) == [0, 30, -2]
    assert listed(client, firm, status="done") == [-2, -9]


def test_words_are_looked_for_in_site_and_surface_and_each_visit_comes_once(client, firm, visits):
    place = SurfaceFactory(site=firm.site, name="Quay yard")
    for action in ("test", "look"):
        VisitTaskFactory(visit=visits[30], surface=place, action=action)

    assert listed(client, firm, q="quay yard") == [30]
    assert listed(client, firm, q=f"quay {firm.site.name}") == [30]
    assert listed(client, firm, q="nowhere") == []


def test_a_crew_of_another_firm_narrows_nothing_and_shows_nothing_of_it(client, firm, visits):
    foreign = VisitFactory()

    assert listed(client, firm, crew=str(foreign.crew.pk)) == [0, 1, 30, -2, -9]
