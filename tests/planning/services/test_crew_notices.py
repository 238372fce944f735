"""Telling a crew its days: what changed since each was told, once, and never to who changed it."""

from datetime import timedelta

import pytest

from accounts.models import Notice
from planning.models import Visit
from planning.services import crew_notices, visits
from tests.clock import TODAY
from tests.factories import CrewFactory, MembershipFactory, SiteFactory, SurfaceFactory

SOON = TODAY + timedelta(days=5)
LATER = SOON + timedelta(days=2)


@pytest.fixture
def crew(firm):
    crew = CrewFactory(organisation=firm.organisation)
    crew.people.add(firm.technician)
    return crew


@pytest.fixture
def visit(firm, crew):
    visit = Visit(organisation=firm.organisation, crew=crew, visit_on=SOON, planned_by=firm.admin)
    visit = visits.save_visit(visit=visit)
    visits.add_task(visit=visit, surface=firm.surface, action="test")
    return visit


def move(visit, **to):
    for name, value in to.items():
        setattr(visit, name, value)
    visits.save_visit(visit=visit)


def told(user):
    """What somebody was told, in order, with plain blanks."""
    rows = Notice.objects.filter(user=user, in_app=True).order_by("created_at", "occasion")
    return [row.text.replace("\u00a0", " ") for row in rows]


def words(day):
    return f"{day:%A} {day.day} {day:%b} {day.year}"


def test_a_new_day_is_told_with_its_sites(firm, visit):
    assert told(firm.technician) == [f"You go out on {words(SOON)}: {firm.site.name}."]


def test_a_visit_without_work_is_told_to_nobody(firm, crew):
    visits.save_visit(visit=Visit(organisation=firm.organisation, crew=crew, visit_on=SOON))

    assert told(firm.technician) == []


def test_a_further_site_changes_the_sentence_that_nobody_read_yet(firm, visit):
    surface = SurfaceFactory(site=SiteFactory(owner=firm.owner, name="Zinc yard"))
    visits.add_task(visit=visit, surface=surface, action="test")

    (text,) = told(firm.technician)
    assert text.endswith(f"{firm.site.name}, Zinc yard.")


def test_moved_and_cancelled_are_told_against_what_was_told_last(firm, visit):
    move(visit, visit_on=LATER)
    visits.cancel_visit(visit=visit, reason="inner-reason")

    assert told(firm.technician)[1:] == [
        f"Your visit on {words(SOON)} is moved to {words(LATER)}: {firm.site.name}.",
        f"Your visit on {words(LATER)} is cancelled: {firm.site.name}.",
    ]


def test_moved_there_and_back_is_told_as_two_moves_and_never_twice(firm, visit):
    move(visit, visit_on=LATER)
    move(visit, visit_on=SOON)
    crew_notices.tell_crew(visit_id=visit.pk)
    crew_notices.tell_crew(visit_id=visit.pk)

    assert len(told(firm.technician)) == 3


def test_given_to_another_crew_both_are_told(firm, visit):
    other = CrewFactory(organisation=firm.organisation)
    second = MembershipFactory(organisation=firm.organisation, role=30).user
    other.people.add(second)

    move(visit, crew=other)

    assert told(firm.technician)[-1].startswith(f"Your visit on {words(SOON)} is no longer yours")
    assert told(second) == [f"You go out on {words(SOON)}: {firm.site.name}."]


def test_who_plans_it_is_not_told_of_it(firm, crew, client):
    crew.people.add(firm.coordinator)
    visit = visits.save_visit(visit=Visit(organisation=firm.organisation, crew=crew, visit_on=SOON))
    client.force_login(firm.coordinator)
    answer = client.post(
        f"/visits/{visit.pk}/tasks/new/", {"surface": firm.surface.pk, "action": "test", "method": ""}
    )

    assert answer.status_code == 302
    assert told(firm.coordinator) == []
    assert len(told(firm.technician)) == 1


def test_who_moved_it_is_told_when_somebody_else_moves_it_back(firm, crew, visit, monkeypatch):
    crew.people.add(firm.coordinator)
    crew_notices.tell_crew(visit_id=visit.pk)
    monkeypatch.setattr(crew_notices, "acting_person", lambda: firm.coordinator.pk)
    move(visit, visit_on=LATER)
    monkeypatch.undo()
    assert len(told(firm.coordinator)) == 1

    move(visit, visit_on=SOON)

    assert told(firm.coordinator)[1:] == [
        f"Your visit on {words(LATER)} is moved to {words(SOON)}: {firm.site.name}."
    ]


def test_a_day_that_is_over_is_told_to_nobody(firm, visit):
    Visit.objects.update(visit_on=TODAY - timedelta(days=3))
    Notice.objects.all().delete()

    crew_notices.tell_crew(visit_id=visit.pk)

    assert told(firm.technician) == []


def test_a_person_who_left_the_crews_firm_is_not_told(firm, visit):
    firm.technician.memberships.all().delete()

    move(visit, visit_on=LATER)

    assert len(told(firm.technician)) == 1


def test_a_visit_that_is_gone_is_no_error(visit):
    crew_notices.tell_crew(visit_id="00000000-0000-4000-8000-000000000000")
