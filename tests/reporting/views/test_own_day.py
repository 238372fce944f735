"""The first page of who goes out: their day, and nothing that is not theirs to see or do."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import now

from tests.clock import TODAY
from tests.factories import CrewFactory, VisitFactory, VisitTaskFactory
from tests.pages import as_shown

DAY = timedelta(days=1)
OWN = reverse("reporting:day-own")
START = reverse("reporting:start")


@pytest.fixture
def crew(firm):
    firm.site.access_note, firm.site.address = "Key at the gatehouse", "1 Mill Lane"
    firm.site.latitude_deg, firm.site.longitude_deg = 48.5, -1.25
    firm.site.save()
    crew = CrewFactory(organisation=firm.organisation, name="North")
    crew.people.add(firm.technician)
    return crew


@pytest.fixture
def visit(firm, crew):
    visit = VisitFactory(
        crew=crew, visit_on=TODAY, organisation=firm.organisation, note="Bring the long hose"
    )
    VisitTaskFactory(visit=visit, surface=firm.surface, action="test")
    return visit


def page(client, user, address=OWN):
    client.force_login(user)
    answer = client.get(address)
    assert answer.status_code == 200
    return as_shown(answer.content.decode())


def test_who_goes_out_begins_with_their_day(client, firm, visit):
    said = page(client, firm.technician, START)

    assert "My day" in said
    assert "Next: Test" in said
    assert f"{firm.surface}" in said


@pytest.mark.parametrize("who", ["coordinator", "admin", "viewer"])
def test_who_plans_or_only_reads_begins_with_what_needs_doing(client, firm, visit, who):
    visit.crew.people.add(getattr(firm, who))

    assert "What needs doing" in page(client, getattr(firm, who), START)


def test_a_technician_in_no_crew_begins_with_what_needs_doing_and_is_told_on_the_page_of_the_day(
    client, firm
):
    assert "What needs doing" in page(client, firm.technician, START)
    assert "You are in no crew yet" in page(client, firm.technician)


def test_what_needs_doing_stays_one_press_away(client, firm, visit):
    assert reverse("reporting:todo-list") in client_page(client, firm.technician, START)
    assert "What needs doing" in page(client, firm.technician, reverse("reporting:todo-list"))


def client_page(client, user, address):
    client.force_login(user)
    return client.get(address).content.decode()


def test_the_day_says_how_to_get_there_and_in_what_to_load_and_what_to_mind(client, firm, visit):
    html, said = client_page(client, firm.technician, OWN), page(client, firm.technician)

    assert 'href="geo:48.500000,-1.250000?q=48.500000,-1.250000(' in html
    for words in (
        "1 Mill Lane",
        "Key at the gatehouse",
        "Bring the long hose",
        "Ring with marks",
        "Water for",
    ):
        assert words in said
    assert "To mind" in said


def test_in_us_units_the_water_is_told_in_gallons(client, firm, visit):
    firm.technician.units = "us"
    firm.technician.save()

    assert " gal" in page(client, firm.technician)


def test_what_has_ended_is_counted_and_the_day_can_be_told(client, firm, visit):
    visit.tasks.update(ended_at=now(), outcome="done")

    said = page(client, firm.technician)

    assert "1 of 1 done" in said
    assert "Everything of this day has ended." in said
    assert reverse("planning:visit-tell", args=[visit.pk]) in client_page(client, firm.technician, OWN)


def test_without_work_today_the_next_day_with_work_is_shown(client, firm, crew):
    later = VisitFactory(crew=crew, visit_on=TODAY + 4 * DAY, organisation=firm.organisation)
    VisitTaskFactory(visit=later, surface=firm.surface, action="inspect")

    assert "Next: Inspect" in page(client, firm.technician)
    assert "No visit of North on this day." in page(client, firm.technician, f"{OWN}?on={TODAY.isoformat()}")


def test_days_nobody_told_are_named_until_somebody_does(client, firm, visit):
    visit.visit_on = TODAY - DAY
    visit.save()

    assert "Not told yet how these went" in page(client, firm.technician)


@pytest.mark.parametrize("asked", ["?on=nonsense", "?crew=nonsense", "?on=9999-12-31", "?crew=&on="])
def test_an_odd_address_shows_a_day_all_the_same(client, firm, visit, asked):
    assert "My day" in page(client, firm.technician, OWN + asked)


def test_the_day_of_a_crew_one_is_not_in_is_not_shown_by_its_key(client, firm, visit):
    other = CrewFactory(organisation=firm.organisation, name="South")
    hidden = VisitFactory(crew=other, visit_on=TODAY, organisation=firm.organisation, note="Not for North")
    VisitTaskFactory(visit=hidden, surface=firm.surface, action="inspect")

    assert "Not for North" not in page(client, firm.technician, f"{OWN}?crew={other.pk}")


def test_of_two_crews_one_can_be_chosen(client, firm, visit):
    other = CrewFactory(organisation=firm.organisation, name="South")
    other.people.add(firm.technician)

    assert "No visit of South" in page(client, firm.technician, f"{OWN}?crew={other.pk}")
    assert "Next: Test" in page(client, firm.technician, f"{OWN}?crew={visit.crew.pk}")


def test_who_only_reads_is_offered_nothing_to_record(client, firm, visit):
    visit.crew.people.add(firm.viewer)

    html = client_page(client, firm.viewer, OWN)

    assert reverse("qa:round-create", args=[firm.surface.pk]) not in html
    assert reverse("planning:visit-tell", args=[visit.pk]) not in html


def queries_of(client):
    with CaptureQueriesContext(connection) as seen:
        client.get(OWN)
    return len(seen)


def test_the_day_reads_as_much_for_one_stop_as_for_seven(client, firm, visit):
    client.force_login(firm.technician)
    client.get(OWN)
    before = queries_of(client)

    for _ in range(6):
        VisitTaskFactory(visit=visit, surface__site__owner=firm.owner, action="inspect")

    assert queries_of(client) <= before
