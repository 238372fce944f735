"""When somebody comes, told to those who may know, and which papers there are to take away."""

from datetime import timedelta

import pytest

from accounts.calc.audience import Audience
from planning.calc.vocabulary import DROPPED, VisitStatus
from qa.calc.rounds import Purpose
from reporting.selectors.coming import downloads_of, next_visits, visits_to_site, visits_to_surface
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    InfiltrationTestFactory,
    OwnerFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

DAY = timedelta(days=1)


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, name="crew-with-a-name")


def planned(firm, crew, on, surface=None, **task):
    visit = VisitFactory(crew=crew, visit_on=on)
    VisitTaskFactory(visit=visit, surface=surface or firm.surface, **task)
    return visit


def test_days_to_come_are_told_in_order_from_today_on(firm, crew):
    for days in (9, 0, -1, 3):
        planned(firm, crew, TODAY + days * DAY)

    found = visits_to_surface(firm.surface, Audience.OWNER)

    assert [one.on for one in found] == [TODAY, TODAY + 3 * DAY, TODAY + 9 * DAY]


def test_an_owner_reads_the_day_and_the_work_but_not_which_crew_comes(firm, crew):
    visit = planned(firm, crew, TODAY + DAY)

    (owners,) = visits_to_surface(firm.surface, Audience.OWNER)
    (firms,) = visits_to_surface(firm.surface, Audience.FIRM)

    assert (owners.crew, owners.key) == ("", None)
    assert (firms.crew, firms.key) == (str(crew), visit.pk)
    assert owners.works == firms.works != ()
    assert "crew-with-a-name" not in str(owners)


def test_who_has_only_a_link_is_told_of_no_day(firm, crew):
    planned(firm, crew, TODAY + DAY)

    assert visits_to_surface(firm.surface, Audience.LINK) == ()
    assert visits_to_site(firm.site, Audience.LINK) == ()


def test_a_day_has_the_earliest_beginning_and_the_latest_end_of_its_work(firm, crew):
    visit = planned(firm, crew, TODAY + DAY, begins_min=540, ends_min=600)
    other = SurfaceFactory(site=firm.site, name="Ramp")
    VisitTaskFactory(visit=visit, surface=other, begins_min=480, ends_min=530)
    third = SurfaceFactory(site=firm.site, name="Steps")
    VisitTaskFactory(visit=visit, surface=third, begins_min=None, ends_min=None)

    (found,) = visits_to_site(firm.site, Audience.OWNER)

    assert (found.begins_min, found.ends_min) == (480, 600)
    assert len(found.works) == 3
    assert any(work.endswith(", Ramp") for work in found.works)


def test_a_day_without_hours_has_none(firm, crew):
    planned(firm, crew, TODAY + DAY)

    (found,) = visits_to_surface(firm.surface, Audience.OWNER)

    assert (found.begins_min, found.ends_min) == (None, None)


def test_what_was_cancelled_dropped_or_done_is_not_to_come(firm, crew):
    cancelled = planned(firm, crew, TODAY + DAY)
    type(cancelled).objects.filter(pk=cancelled.pk).update(status=VisitStatus.CANCELLED)
    dropped = planned(firm, crew, TODAY + 2 * DAY)
    dropped.tasks.update(ended_at="2026-06-01T10:00Z", outcome=DROPPED[0], outcome_reason="Rain.")
    done = planned(firm, crew, TODAY + 3 * DAY)
    done.tasks.update(ended_at="2026-06-01T10:00Z", outcome="done")

    assert visits_to_site(firm.site, Audience.FIRM) == ()
    assert next_visits(firm.owner_person, TODAY) == {}


def test_the_next_day_of_each_site_is_told_to_who_reads_for_its_owner(firm, crew):
    planned(firm, crew, TODAY + 5 * DAY)
    planned(firm, crew, TODAY + 2 * DAY)
    planned(firm, crew, TODAY - DAY)
    others = SurfaceFactory(site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation)))
    planned(firm, crew, TODAY + DAY, surface=others)

    assert next_visits(firm.owner_person, TODAY) == {firm.site.pk: TODAY + 2 * DAY}
    assert next_visits(firm.outsider, TODAY) == {}


def a_round(firm, days_ago, purpose=Purpose.ROUTINE, surface=None):
    row = RoundFactory(
        surface=surface or firm.surface, tested_on=TODAY - days_ago * DAY, purpose=purpose.value
    )
    InfiltrationTestFactory(round=row)
    return row.pk


def certificates(firm):
    firm.site.refresh_from_db()
    return [one.key for one in downloads_of(firm.site).certificates]


def test_of_many_rounds_the_newest_and_the_latest_of_acceptance_have_certificates_to_take(firm):
    a_round(firm, 900, Purpose.ACCEPTANCE)
    accepted = a_round(firm, 800, Purpose.ACCEPTANCE)
    a_round(firm, 90)
    newest = a_round(firm, 10)

    assert certificates(firm) == [newest, accepted]


def test_where_the_newest_is_that_of_acceptance_it_stands_once(firm):
    a_round(firm, 800, Purpose.ACCEPTANCE)
    newest = a_round(firm, 10, Purpose.ACCEPTANCE)

    assert certificates(firm) == [newest]


def test_a_round_without_a_test_has_no_certificate_and_a_removed_surface_no_papers(firm):
    RoundFactory(surface=firm.surface, tested_on=TODAY)
    gone = SurfaceFactory(site=firm.site, removed_on=TODAY)
    a_round(firm, 10, surface=gone)

    assert certificates(firm) == []
    assert [one.key for one in downloads_of(firm.site).handovers] == [firm.surface.pk]
