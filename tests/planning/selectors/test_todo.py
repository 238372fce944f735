"""The first page of a firm, against a plain walk through the same rows."""

import random
from collections import Counter
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from maintenance.calc.vocabulary import WORST_FIRST
from maintenance.models import Forecast, Recommendation
from planning.presentation.work import trip_lines
from planning.selectors.todo import to_do
from qa.selectors.days import usual_date
from tests.clock import START, TODAY
from tests.factories import (
    BECAUSE,
    CrewFactory,
    MembershipFactory,
    OwnerFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

DAY = timedelta(days=1)
ZONES = ["Pacific/Kiritimati", "UTC", "America/Los_Angeles", "Pacific/Pago_Pago", "Europe/Berlin"]


def advice_for(surface, due_on, action="test", status="open"):
    return Recommendation.objects.create(
        surface=surface,
        action=action,
        due_on=due_on,
        earliest_on=due_on,
        currency="EUR",
        grounds=BECAUSE,
        status=status,
    )


def seen_by(firm, at=START):
    return to_do(firm.viewer, firm.organisation, at)


def advice_in(seen):
    return [row for trip in seen.work.trips for row in trip.rows]


def surface_of(firm, zone="UTC", **changes):
    return SurfaceFactory(site=SiteFactory(owner=firm.owner, time_zone=zone), **changes)


@pytest.mark.parametrize("seed", range(4))
def test_surfaces_are_counted_by_how_they_stand(firm, seed):

    draw, expected = (
        random.Random(seed),
        Counter({"not_tested": 1}),
    )  # the firm's own surface has no forecast yet
    for _ in range(8):
        surface, state = surface_of(firm), draw.choice([state.value for state in WORST_FIRST])
        Forecast.objects.update_or_create(surface=surface, defaults={"surface_state": state})
        expected[state] += 1
    surface_of(firm, removed_on=TODAY)
    SurfaceFactory()

    seen = seen_by(firm)

    assert {state: count for state, _, count in seen.states if count} == dict(expected)
    assert seen.surfaces == 9
    assert [state for state, _, _ in seen.states] == [state.value for state in WORST_FIRST]


@pytest.mark.parametrize(
    ("days", "status", "listed"),
    [
        (-3, "scheduled", True),  # it was to be done and nobody said that it was
        (0, "scheduled", True),
        (14, "scheduled", True),
        (15, "scheduled", False),
        (0, "done", False),
        (0, "cancelled", False),
    ],
)
def test_the_visits_of_the_next_fortnight_are_listed(firm, days, status, listed):
    visit = VisitFactory(
        crew=CrewFactory(organisation=firm.organisation), visit_on=TODAY + days * DAY, status=status
    )
    VisitFactory(visit_on=TODAY)

    assert list(seen_by(firm).visits) == ([visit] if listed else [])


def test_what_could_not_be_worked_out_is_named_but_no_more_than_five(firm):
    for _ in range(7):
        Forecast.objects.update_or_create(
            surface=surface_of(firm), defaults={"error": "It contradicts itself."}
        )
    Forecast.objects.update_or_create(surface=SurfaceFactory(), defaults={"error": "Of another firm."})

    failing = seen_by(firm).failing

    assert len(failing) == 5
    assert {row.error for row in failing} == {"It contradicts itself."}


def test_somebody_outside_the_firm_is_shown_nothing_of_it(firm):
    advice_for(firm.surface, TODAY)
    VisitFactory(crew=CrewFactory(organisation=firm.organisation), visit_on=TODAY)

    for person in (firm.outsider, firm.owner_person):
        seen = to_do(person, firm.organisation, START)
        assert (list(seen.work.trips), list(seen.visits), seen.surfaces) == ([], [], 0)


def test_many_rows_ask_the_database_no_more_often_than_one(firm):
    def fill(count):
        for _ in range(count):
            surface = SurfaceFactory(site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation)))
            Forecast.objects.update_or_create(surface=surface, defaults={"error": "It contradicts itself."})
            advice_for(surface, TODAY)
            visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation), visit_on=TODAY)
            VisitTaskFactory(visit=visit, surface=surface)

    def asked():
        with CaptureQueriesContext(connection) as queries:
            seen = seen_by(firm)
            trip_lines(seen.work, "si", "open")
            [str(row.surface) for row in seen.failing]
            for visit in seen.visits:
                [str(visit.crew), *(str(task.surface) for task in visit.tasks.all())]
        return len(queries)

    fill(1)
    few = asked()
    fill(19)

    assert asked() == few


@given(
    st.lists(st.sampled_from(ZONES), max_size=9),
    st.integers(0, 15 * 365 * 24).map(lambda hours: START + timedelta(hours=hours)),
)
def test_the_usual_date_is_that_of_most_surfaces(zones, at):
    counted = Counter(zones)
    most = {zone for zone, count in counted.items() if count == max(counted.values())} or {"UTC"}

    assert usual_date(zones, at) in {at.astimezone(ZoneInfo(zone)).date() for zone in most}


@given(st.permutations(ZONES * 2))
def test_the_usual_date_does_not_hang_on_the_order_of_the_surfaces(zones):
    at = datetime(2026, 6, 10, 10, 30, tzinfo=UTC)

    assert usual_date(zones, at) == usual_date(sorted(zones), at)


def test_the_firms_own_people_of_every_role_see_the_same(firm):
    advice_for(firm.surface, TODAY)
    seen = [
        to_do(getattr(firm, role), firm.organisation, START)
        for role in ("viewer", "technician", "coordinator", "admin")
    ]

    assert len({tuple(trip.key for trip in one.work.trips) for one in seen}) == 1
    assert seen[0].work.trips


def test_a_person_of_two_firms_is_shown_the_one_they_act_for(firm):
    other = SurfaceFactory()
    MembershipFactory(user=firm.viewer, organisation=other.site.organisation)
    advice_for(firm.surface, TODAY)
    theirs = advice_for(other, TODAY)

    assert theirs not in advice_in(seen_by(firm))
    assert advice_in(to_do(firm.viewer, other.site.organisation, START)) == [theirs]
