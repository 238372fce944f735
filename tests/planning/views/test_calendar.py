"""The calendar of visits, as the firm's people and an owner's see it."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from core.calc.weekdays import Weekdays
from tests.clock import TODAY
from tests.factories import (
    CrewAbsenceFactory,
    CrewFactory,
    OwnerFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.pages import as_shown

URL = reverse("planning:calendar-show")
VIEWS = ("month", "week", "day", "list")
SECRETS = ("inner-note-of-a-visit", "how-to-get-in-here", "a-neighbour-of-the-owner", "crew-of-the-firm")


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, name="crew-of-the-firm")


@pytest.fixture
def visit(firm, crew):
    """A visit of today at the owner's site, and at that of another owner of the firm."""
    visit = VisitFactory(crew=crew, visit_on=TODAY, note="inner-note-of-a-visit")
    VisitTaskFactory(visit=visit, surface=firm.surface, action="test")
    firm.site.access_note = "how-to-get-in-here"
    firm.site.save()
    VisitTaskFactory(visit=visit, surface=neighbour(firm))
    return visit


def neighbour(firm):
    owner = OwnerFactory(organisation=firm.organisation)
    return SurfaceFactory(site=SiteFactory(owner=owner, name="a-neighbour-of-the-owner"))


def seen(client, person, **asked):
    client.force_login(person)
    answer = client.get(URL, asked)
    assert answer.status_code == 200
    return as_shown(answer.content.decode())


@pytest.mark.parametrize("view", VIEWS)
def test_every_view_shows_a_visit_of_its_days_with_crew_and_sites(client, firm, visit, view):
    page = seen(client, firm.viewer, view=view, on=TODAY.isoformat())

    assert visit.get_absolute_url() in page
    assert "crew-of-the-firm" in page
    assert firm.site.name in page
    assert "a-neighbour-of-the-owner" in page


@pytest.mark.parametrize("view", VIEWS)
def test_an_owners_person_sees_the_own_site_and_nothing_else(client, firm, visit, view):
    page = seen(client, firm.owner_person, view=view, on=TODAY.isoformat())

    assert firm.site.name in page
    assert "Test, <a href=" in page
    assert [secret for secret in SECRETS if secret in page] == []
    assert visit.get_absolute_url() not in page


def test_the_firms_people_are_shown_what_the_owner_is_not(client, firm, visit):
    """Or the test above could not fail: names of crews and neighbours do stand on the firm's page."""
    page = seen(client, firm.viewer)

    assert "crew-of-the-firm" in page


def test_somebody_of_a_firm_who_reads_own_sites_sees_those_of_the_owner_alone(client, firm, visit):
    firm.outsider.owner_links.create(owner=firm.owner)
    client.force_login(firm.outsider)
    client.post(reverse("accounts:firm-switch"), {"organisation": "own-sites"})

    page = client.get(URL).content.decode()

    assert firm.site.name in page
    assert [secret for secret in SECRETS if secret in page] == []


def test_a_stranger_sees_no_visit_of_another_firm(client, firm, visit):
    page = seen(client, firm.outsider, crew=str(visit.crew_id), site=str(firm.site.pk))

    assert firm.site.name not in page
    assert "crew-of-the-firm" not in page


def test_it_is_narrowed_by_crew_owner_and_site(client, firm, visit):
    other = CrewFactory(organisation=firm.organisation, name="Others")
    theirs = VisitFactory(crew=other, visit_on=TODAY)
    task = VisitTaskFactory(visit=theirs, surface=neighbour_of(visit))
    site, owner = task.surface.site, task.surface.site.owner

    def shown(**asked):
        page = seen(client, firm.viewer, **asked)
        return visit.get_absolute_url() in page, theirs.get_absolute_url() in page

    assert shown() == (True, True)
    assert shown(crew=str(other.pk)) == (False, True)
    assert shown(owner=str(firm.owner.pk)) == (True, False)
    assert shown(site=str(firm.site.pk)) == (True, False)
    assert shown(owner=str(owner.pk), site=str(site.pk)) == (True, True)


def neighbour_of(visit):
    return visit.tasks.get(surface__site__name="a-neighbour-of-the-owner").surface


def test_who_goes_out_with_one_crew_sees_it_first_and_can_see_all(client, firm, visit):
    own = CrewFactory(organisation=firm.organisation, name="Mine")
    own.people.add(firm.technician)

    assert visit.get_absolute_url() not in seen(client, firm.technician)
    page = seen(client, firm.technician, crew="all")
    assert visit.get_absolute_url() in page
    assert "crew=all" in page  # and the links to other days keep it


def test_the_address_holds_all_of_the_state_so_that_it_can_be_shared(client, firm, visit):
    asked = {"view": "week", "on": TODAY.isoformat(), "crew": str(visit.crew_id), "owner": str(firm.owner.pk)}
    page = seen(client, firm.coordinator, **asked)
    after = (TODAY + timedelta(days=7)).isoformat()

    link = f"?view=week&amp;on={after}&amp;crew={visit.crew_id}&amp;owner={firm.owner.pk}"
    assert link in page


@pytest.mark.parametrize(
    "asked", [{"on": "yesterday"}, {"view": "year"}, {"crew": "x"}, {"site": "x"}, {"on": "9999-12-31"}]
)
def test_what_cannot_be_read_narrows_nothing_and_breaks_nothing(client, firm, visit, asked):
    page = seen(client, firm.coordinator, **asked)

    assert "Calendar" in page
    assert (visit.get_absolute_url() in page) == (asked.get("on") != "9999-12-31")


def test_days_off_of_crews_are_told_with_the_reason(client, firm, crew):
    CrewAbsenceFactory(crew=crew, reason="training")
    CrewFactory(organisation=firm.organisation, name="Others", weekdays=Weekdays((1, 2, 3, 4, 5, 6, 7)))

    for view in VIEWS:
        assert "crew-of-the-firm away: training" in seen(client, firm.viewer, view=view, on=TODAY.isoformat())


def test_a_visit_on_a_day_its_crew_does_not_work_says_so_and_a_free_sunday_does_not(client, firm, crew):
    sunday = TODAY + timedelta(days=7 - TODAY.isoweekday())
    before = seen(client, firm.viewer, view="week", on=sunday.isoformat())
    VisitFactory(crew=crew, visit_on=sunday)

    after = seen(client, firm.viewer, view="week", on=sunday.isoformat())

    said = "crew-of-the-firm does not work on a Sunday"
    assert (said in before, said in after) == (False, True)
    assert "No working day." in before


def test_cancelled_visits_are_said_to_be(client, firm, visit):
    visit.status = "cancelled"
    visit.save()

    assert "cancelled" in seen(client, firm.viewer)
    assert "cancelled" in seen(client, firm.owner_person)


def test_times_of_an_accepted_plan_stand_in_the_list(client, firm, visit):
    visit.tasks.update(begins_min=8 * 60 + 5, ends_min=9 * 60)

    assert "08:05 to 09:00" in seen(client, firm.owner_person, view="list", on=TODAY.isoformat())


@pytest.mark.parametrize("who", ["coordinator", "owner_person"])
@pytest.mark.parametrize("view", VIEWS)
def test_the_number_of_queries_does_not_grow_with_visits(client, firm, visit, view, who):
    client.force_login(getattr(firm, who))

    def asked():
        with CaptureQueriesContext(connection) as done:
            assert client.get(URL, {"view": view, "on": TODAY.isoformat()}).status_code == 200
        return len(done)

    few = asked()
    for _ in range(6):
        crew = CrewFactory(organisation=firm.organisation)
        CrewAbsenceFactory(crew=crew)
        surface = SurfaceFactory(site=SiteFactory(owner=firm.owner))
        VisitTaskFactory(visit=VisitFactory(crew=crew, visit_on=TODAY), surface=surface)

    assert asked() == few


def test_owners_are_led_there_from_their_first_page_and_the_firm_from_its_visits(client, firm):
    client.force_login(firm.owner_person)
    assert URL in client.get("/").content.decode()

    client.force_login(firm.viewer)
    assert URL in client.get(reverse("planning:visit-list")).content.decode()
    assert 'aria-current="page"' in client.get(URL).content.decode()
