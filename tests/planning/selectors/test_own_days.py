"""Whose day it is, which days have work, and of which nobody told how they went."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from planning.selectors.own_days import crew_chosen, crews_of, day_to_show, days_ahead, left_behind
from tests.clock import TODAY
from tests.factories import CrewFactory, MembershipFactory, VisitFactory, VisitTaskFactory

DAY = timedelta(days=1)


@pytest.fixture
def crew(firm):
    crew = CrewFactory(organisation=firm.organisation, name="North")
    crew.people.add(firm.technician)
    return crew


def visit_of(crew, on, surface=None, **changes):
    visit = VisitFactory(crew=crew, visit_on=on, organisation=crew.organisation, **changes)
    if surface:
        VisitTaskFactory(visit=visit, surface=surface, action="test")
    return visit


def test_somebody_has_the_crews_they_go_out_with_and_no_others(firm, crew):
    CrewFactory(organisation=firm.organisation, name="South")
    gone = CrewFactory(organisation=firm.organisation, name="Gone", retired=True)
    gone.people.add(firm.technician)

    assert crews_of(firm.technician, firm.organisation) == [crew]
    assert crews_of(firm.coordinator, firm.organisation) == []


def test_a_crew_of_another_firm_is_no_crew_here(firm, crew):
    elsewhere = CrewFactory(name="Elsewhere")
    elsewhere.people.add(firm.technician)
    MembershipFactory(organisation=elsewhere.organisation, user=firm.technician)

    assert crews_of(firm.technician, firm.organisation) == [crew]


def test_days_ahead_are_those_with_a_visit_to_make_each_once_with_its_sites(
    firm, crew, django_assert_num_queries
):
    for on in (TODAY - DAY, TODAY, TODAY + 3 * DAY, TODAY + 15 * DAY):
        visit_of(crew, on, firm.surface)
    visit_of(crew, TODAY + DAY, firm.surface, status="cancelled")
    visit_of(crew, TODAY + 2 * DAY, firm.surface, status="done")

    with django_assert_num_queries(4):
        days = days_ahead(crew, TODAY)

    assert [(day.on, day.sites) for day in days] == [
        (TODAY, (firm.site.name,)),
        (TODAY + 3 * DAY, (firm.site.name,)),
    ]


def test_without_a_wish_today_is_shown_else_the_next_day_with_work(firm, crew):
    assert day_to_show([], None, TODAY) == TODAY
    visit_of(crew, TODAY + 3 * DAY, firm.surface)
    assert day_to_show(days_ahead(crew, TODAY), None, TODAY) == TODAY + 3 * DAY
    assert day_to_show(days_ahead(crew, TODAY), TODAY + DAY, TODAY) == TODAY + DAY


def test_days_that_are_over_and_of_which_nothing_was_told_are_left_behind(firm, crew):
    late = visit_of(crew, TODAY - DAY, firm.surface)
    visit_of(crew, TODAY - 2 * DAY)  # nothing was on it
    told = visit_of(crew, TODAY - 3 * DAY, firm.surface)
    told.tasks.update(ended_at=now(), outcome="done")
    visit_of(crew, TODAY, firm.surface)

    assert left_behind(crew, TODAY) == [late]


def test_the_crew_in_the_address_is_shown_and_for_anything_else_the_first(firm, crew):
    other = CrewFactory(organisation=firm.organisation, name="South")

    assert crew_chosen([crew, other], str(other.pk)) == other
    assert crew_chosen([crew, other], "nonsense") == crew
