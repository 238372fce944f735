"""The rows that a token reaches: of its firm or its owner, and of nobody else, whoever its person is besides."""

from datetime import timedelta
from types import SimpleNamespace

import pytest

from accounts.calc.roles import Role
from api.selectors import rows
from api.selectors.tokens import Caller
from maintenance.models import CleaningEvent, Forecast, Recommendation
from planning.calc.vocabulary import TaskOutcome
from planning.models import Visit
from qa.models import InfiltrationTest, Inspection, Site, Surface, TestRound
from tests.clock import START, TODAY
from tests.factories import (
    ApiTokenFactory,
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    InspectionFactory,
    MembershipFactory,
    OwnerFactory,
    OwnerPersonFactory,
    RecommendationFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db
FINDERS = {
    "owners": rows.owners,
    "sites": rows.sites,
    "surfaces": rows.surfaces,
    "rounds": rows.rounds,
    "tests": rows.tests,
    "cleanings": rows.cleanings,
    "inspections": rows.inspections,
    "visits": rows.visits,
    "forecasts": rows.forecasts,
    "recommendations": rows.recommendations,
}


def grown(owner, **site):
    """A row of each kind of an owner, by the name of its kind."""
    surface = SurfaceFactory(site=SiteFactory(owner=owner, **site))
    round_ = RoundFactory(surface=surface)
    visit = VisitFactory(
        crew=CrewFactory(organisation=owner.organisation), visit_on=TODAY + timedelta(days=3)
    )
    task = VisitTaskFactory(visit=visit, surface=surface)
    return SimpleNamespace(
        owners=owner,
        sites=surface.site,
        surfaces=surface,
        rounds=round_,
        tests=InfiltrationTestFactory(round=round_),
        cleanings=CleaningFactory(surface=surface),
        inspections=InspectionFactory(surface=surface),
        visits=visit,
        forecasts=Forecast.objects.create(surface=surface),
        recommendations=RecommendationFactory(surface=surface),
        task=task,
    )


@pytest.fixture
def mine(firm):
    return grown(firm.owner)


@pytest.fixture
def neighbours(firm, mine):
    """Of another owner of the same firm."""
    return grown(OwnerFactory(organisation=firm.organisation))


@pytest.fixture
def elsewhere(neighbours):
    """Of another firm."""
    return grown(OwnerFactory())


def caller(firm, person="viewer", owner=None, role=Role.VIEWER, **changes):
    values = {"organisation": firm.organisation, "person": getattr(firm, person), "owner": owner}
    return Caller(ApiTokenFactory(**values | changes), Role.OWNER if owner else role)


def found(kind, who):
    return {row.pk for row in FINDERS[kind](who)}


def keys(kind, *places):
    return {getattr(place, kind).pk for place in places}


@pytest.mark.parametrize("kind", FINDERS)
def test_a_token_of_a_firm_reaches_the_rows_of_its_owners_and_of_no_other_firm(
    firm, mine, neighbours, elsewhere, kind
):
    there = found(kind, caller(firm))

    assert keys(kind, mine, neighbours) <= there
    assert not keys(kind, elsewhere) & there


@pytest.mark.parametrize("kind", [kind for kind in FINDERS if kind != "recommendations"])
def test_a_token_of_an_owner_reaches_that_owners_rows_alone(firm, mine, neighbours, elsewhere, kind):
    there = found(kind, caller(firm, "owner_person", firm.owner))

    assert keys(kind, mine) <= there
    assert not keys(kind, neighbours, elsewhere) & there


@pytest.mark.parametrize("kind", FINDERS)
def test_who_reads_for_two_owners_reads_by_each_token_one(firm, mine, neighbours, kind):
    OwnerPersonFactory(owner=neighbours.owners, user=firm.owner_person)

    there = found(kind, caller(firm, "owner_person", firm.owner))

    assert not keys(kind, neighbours) & there


@pytest.mark.parametrize("kind", FINDERS)
def test_a_person_of_two_firms_reaches_by_each_token_one(firm, mine, elsewhere, kind):
    MembershipFactory(organisation=elsewhere.owners.organisation, user=firm.viewer, role=Role.ADMIN)

    here = found(kind, caller(firm))
    there = found(kind, caller(firm, organisation=elsewhere.owners.organisation))

    assert keys(kind, mine) <= here
    assert keys(kind, elsewhere) <= there
    assert not here & there


@pytest.mark.parametrize("kind", FINDERS)
def test_a_token_of_somebody_who_is_neither_reaches_nothing(firm, mine, kind):
    assert found(kind, caller(firm, "outsider")) == set()
    assert found(kind, caller(firm, "outsider", firm.owner)) == set()


# ---- visits of owners --------------------------------------------------------------------------------------------


def visits_of(firm, **at):
    """Visits that the owner reads of, each with the ids of the tasks it shows."""
    shown = rows.visits(caller(firm, "owner_person", firm.owner), **at)
    return {visit.pk: [task.pk for task in visit.shown_tasks] for visit in shown}


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago", "UTC"])
@pytest.mark.parametrize(("days", "seen"), [(-1, False), (0, True), (1, True)])
def test_what_lies_ahead_begins_with_today_where_the_site_is(firm, mine, zone, days, seen):
    """One is fourteen hours ahead of UTC, the other eleven behind: at noon it is tomorrow in the one."""
    Site.objects.filter(pk=mine.sites.pk).update(time_zone=zone)
    mine.sites.refresh_from_db()
    Visit.objects.filter(pk=mine.visits.pk).update(visit_on=mine.sites.today() + timedelta(days=days))

    assert (mine.visits.pk in visits_of(firm)) is seen


def test_each_site_has_its_own_today_on_one_visit(firm, mine):
    """East of the date line the day is over, west of it the visit is still ahead."""
    west = grown(firm.owner, time_zone="Pacific/Pago_Pago")
    east = grown(firm.owner, time_zone="Pacific/Kiritimati")
    both = VisitFactory(crew=mine.visits.crew, visit_on=west.sites.today())
    ahead, over = (VisitTaskFactory(visit=both, surface=place.surfaces) for place in (west, east))
    assert west.sites.today() < east.sites.today()

    assert visits_of(firm)[both.pk] == [ahead.pk]
    assert over.pk not in visits_of(firm)[both.pk]


def test_tasks_stand_in_the_order_of_their_hours_and_those_without_one_last(firm, mine):
    visit = VisitFactory(crew=mine.visits.crew, visit_on=mine.sites.today() + timedelta(days=1))
    hours = ((None, None), (600, 660), (420, 480))
    whenever, late, early = (
        VisitTaskFactory(
            visit=visit, surface=SurfaceFactory(site=mine.sites), begins_min=begins, ends_min=ends
        )
        for begins, ends in hours
    )

    assert visits_of(firm)[visit.pk] == [early.pk, late.pk, whenever.pk]


@pytest.mark.parametrize("outcome", TaskOutcome)
def test_a_task_that_ended_lies_no_more_ahead_however_it_ended(firm, mine, outcome):
    assert mine.visits.pk in visits_of(firm)

    type(mine.task).objects.filter(pk=mine.task.pk).update(outcome=outcome.value, ended_at=START)

    assert mine.visits.pk not in visits_of(firm)


@pytest.mark.parametrize(("status", "seen"), [("scheduled", True), ("done", False), ("cancelled", False)])
def test_a_visit_that_is_done_or_called_off_does_not_either(firm, mine, status, seen):
    Visit.objects.filter(pk=mine.visits.pk).update(status=status)

    assert (mine.visits.pk in visits_of(firm)) is seen
    assert mine.visits.pk in {visit.pk for visit in rows.visits(caller(firm))}


def test_visits_are_narrowed_by_where_they_go(firm, mine, neighbours):
    firms = caller(firm)

    assert {v.pk for v in rows.visits(firms, site=mine.sites.pk)} == {mine.visits.pk}
    assert {v.pk for v in rows.visits(firms, surface=neighbours.surfaces.pk)} == {neighbours.visits.pk}
    assert list(rows.visits(firms, site=mine.sites.pk, surface=neighbours.surfaces.pk)) == []
    assert visits_of(firm, surface=neighbours.surfaces.pk) == {}


# ---- advice, documents, ids ---------------------------------------------------------------------------------------


def test_advice_that_was_not_released_is_no_release(firm, mine):
    assert list(rows.releases(caller(firm, "owner_person", firm.owner))) == []


@pytest.mark.parametrize(
    ("kind", "model"),
    [("sites", Site), ("surfaces", Surface), ("rounds", TestRound), ("tests", InfiltrationTest),
     ("cleanings", CleaningEvent), ("inspections", Inspection), ("recommendations", Recommendation)],
)  # fmt: skip
def test_whether_an_id_is_taken_is_known_of_any_firm(elsewhere, mine, kind, model):
    taken = getattr(elsewhere, kind)

    assert rows.stored(model, taken.pk) == taken
    assert rows.stored(model, elsewhere.task.pk) is None
