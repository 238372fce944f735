"""Advised work as trips, against a plain walk through the same rows."""

import random
from collections import defaultdict
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from maintenance.models import Forecast, Recommendation
from maintenance.services import releases
from planning.presentation.work import trip_lines
from planning.selectors import work as module
from planning.selectors.work import PIECES_SHOWN, TRIPS_A_PAGE, Asked, work
from tests.clock import TODAY
from tests.factories import BECAUSE, OwnerFactory, SiteFactory, SurfaceFactory

DAY = timedelta(days=1)
STATES = ["draining", "watch", "clean_soon", "below_limit"]


def advice_for(surface, waiting=0, action="clean", **changes):
    values = {"due_on": TODAY, "earliest_on": TODAY, "currency": "EUR", "grounds": BECAUSE}
    values |= {"waiting_costs": Decimal(waiting), "cost": Decimal(100), "crew_hours": 2.0}
    return Recommendation.objects.create(surface=surface, action=action, **values | changes)


def seen_by(firm, page=1, **asked):
    return work(firm.viewer, firm.organisation, Asked(**asked), page)


def shape(found):
    return [(trip.site, trip.action.value, {row.pk for row in trip.rows}) for trip in found.trips]


def random_rows(firm, draw):
    sites = [SiteFactory(owner=firm.owner) for _ in range(4)]
    rows = []
    for _ in range(12):
        surface = SurfaceFactory(site=draw.choice(sites), removed_on=draw.choice([None, None, None, TODAY]))
        Forecast.objects.update_or_create(surface=surface, defaults={"surface_state": draw.choice(STATES)})
        for action in draw.sample(["test", "clean", "look", "source"], draw.randint(0, 3)):
            status = draw.choice(["open", "open", "open", "put_off", "planned", "declined", "done"])
            due = TODAY + draw.randint(-40, 60) * DAY
            rows.append(advice_for(surface, draw.choice([0, 0, 50, 900]), action, status=status, due_on=due))
    advice_for(SurfaceFactory(), 10_000)  # of another firm
    return rows


def by_hand(rows, status="open"):
    """One row a surface, by its leading piece; several surfaces of one site and kind in one; dearest first."""
    leading = {}
    for row in rows:
        if row.status == status and not row.surface.removed_on:
            rank = (-row.waiting_costs, row.due_on, row.pk)
            if row.surface not in leading or rank < leading[row.surface][0]:
                leading[row.surface] = (rank, row)
    trips = defaultdict(set)
    for _, row in leading.values():
        trips[row.surface.site, row.action].add(row)
    costs = [
        (-sum(row.waiting_costs for row in found), min(row.due_on for row in found))
        for found in trips.values()
    ]
    return {
        (site, action, frozenset(row.pk for row in found)) for (site, action), found in trips.items()
    }, sorted(costs)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("status", ["open", "put_off"])
def test_the_trips_are_those_of_a_walk_through_every_row(firm, seed, status):
    rows = random_rows(firm, random.Random(seed))

    found = seen_by(firm, status=status)

    trips, costs = by_hand(rows, status)
    assert {(site, action, frozenset(keys)) for site, action, keys in shape(found)} == trips
    assert [(-trip.waiting_costs, trip.due_on) for trip in found.trips] == costs


def test_what_waiting_costs_decides_the_order_and_not_the_day(firm):
    late = advice_for(SurfaceFactory(site=SiteFactory(owner=firm.owner)), 10, due_on=TODAY - 300 * DAY)
    dear = advice_for(firm.surface, 900, due_on=TODAY + 90 * DAY)

    assert [trip.rows[0] for trip in seen_by(firm).trips] == [dear, late]


def test_surfaces_of_one_site_that_need_one_kind_of_visit_are_one_trip_with_its_sums(firm):
    other = SurfaceFactory(site=firm.site)
    first, second = advice_for(firm.surface, 40), advice_for(other, 60)

    (trip,) = seen_by(firm).trips

    assert list(trip.rows) == [second, first]
    assert (trip.waiting_costs, trip.cost, trip.crew_hours) == (Decimal(100), Decimal(200), 4.0)


def test_a_surface_stands_in_one_row_with_what_else_is_advised_there(firm):
    test, clean = advice_for(firm.surface, 5, "test"), advice_for(firm.surface, 80)

    (trip,) = seen_by(firm).trips

    assert (trip.rows, trip.also[firm.surface.pk]) == ([clean], [test])


def narrowing(firm):
    """For each filter the row that it leaves of two."""
    there = SurfaceFactory(
        name="Orchard yard", site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation))
    )
    Forecast.objects.update_or_create(surface=there, defaults={"surface_state": "below_limit"})
    kept, _ = advice_for(there, 10, "test"), advice_for(firm.surface, 20)
    releases.release(recommendations=[kept], by=firm.coordinator)
    asked = {
        "words": "orchard",
        "owner": there.site.owner.pk,
        "site": there.site.pk,
        "action": "test",
        "state": "below_limit",
        "release": "released",
    }
    return kept, asked


@pytest.mark.parametrize("name", ["words", "owner", "site", "action", "state", "release"])
def test_each_filter_leaves_what_it_asks_for_in_the_list_and_in_the_sums(firm, name):
    kept, asked = narrowing(firm)

    found = seen_by(firm, **{name: asked[name]})

    assert [row for trip in found.trips for row in trip.rows] == [kept]
    assert (found.totals.pieces, found.totals.waiting_costs) == (1, Decimal(10))


def test_the_sums_are_of_all_pages(firm):
    count = TRIPS_A_PAGE + 3
    for number in range(count):
        advice_for(SurfaceFactory(site=SiteFactory(owner=firm.owner)), number)

    first, second = seen_by(firm), seen_by(firm, page=2)

    assert (len(first.trips), len(second.trips)) == (TRIPS_A_PAGE, 3)
    assert first.totals == second.totals
    assert (first.totals.surfaces, first.totals.cost) == (count, Decimal(100 * count))


def test_many_rows_ask_the_database_no_more_often_than_one(firm):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            trip_lines(seen_by(firm), "si", "open")
        return len(queries)

    advice_for(firm.surface, 5)
    few = asked()
    for _ in range(12):
        surface = SurfaceFactory(site=SiteFactory(owner=firm.owner))
        advice_for(surface, 7), advice_for(surface, 3, "test")

    assert asked() == few


def test_of_a_large_site_the_first_few_stand_in_the_list_and_all_in_the_list_of_that_site(firm, client):
    rows = [advice_for(SurfaceFactory(site=firm.site), number) for number in range(PIECES_SHOWN + 3)]
    rows.sort(key=lambda row: -row.waiting_costs)

    (trip,) = seen_by(firm).trips
    (line,) = trip_lines(seen_by(firm), "si", "open")
    (whole,) = trip_lines(seen_by(firm, site=firm.site.pk), "si", "open")

    assert (list(trip.rows), trip.count) == (rows[:PIECES_SHOWN], len(rows))
    assert trip.waiting_costs == sum(row.waiting_costs for row in rows)
    assert ([piece.row for piece in whole.pieces], whole.rest_url) == (rows, "")
    client.force_login(firm.viewer)
    page = client.get(f"{reverse('reporting:start')}{line.rest_url}").content.decode()
    assert all(row.get_absolute_url() in page for row in rows)


@pytest.mark.parametrize(("asked", "number"), [(1, 1), (2, 2), (3, 2), ("99", 2), ("x", 1), (-1, 2), (0, 2)])
def test_pages_are_counted_as_they_are_read(firm, asked, number, django_assert_max_num_queries):
    for _ in range(TRIPS_A_PAGE + 1):
        advice_for(SurfaceFactory(site=SiteFactory(owner=firm.owner)))

    with django_assert_max_num_queries(8):
        page = seen_by(firm, page=asked).page

    assert (page.number, page.paginator.count, page.paginator.num_pages) == (number, TRIPS_A_PAGE + 1, 2)
    assert len(page.object_list) == (TRIPS_A_PAGE if number == 1 else 1)


@pytest.mark.parametrize("asked", ["_ranked", "joined"])
@pytest.mark.parametrize("dealt_with", [1, 2])
def test_what_is_dealt_with_while_the_list_is_read_is_left_out(firm, monkeypatch, asked, dealt_with):
    """The list is read in several questions, and a forecast beside, or a colleague, ends advice between two of them."""
    rows = [advice_for(firm.surface, 80), advice_for(SurfaceFactory(site=firm.site), 60)]
    question = getattr(module, asked)

    def after_somebody(found):
        Recommendation.objects.filter(pk__in=[row.pk for row in rows[:dealt_with]]).update(status="done")
        return question(found)

    monkeypatch.setattr(module, asked, after_somebody)

    assert [row for trip in seen_by(firm).trips for row in trip.rows] == rows[dealt_with:]
