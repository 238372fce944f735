"""The invented firm as it is loaded: what stands in the database is what its recipe says, again and again."""

from collections import Counter
from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import transaction

from accounts.models import Membership, Organisation, User
from demo.calc import inspections as recipe
from demo.calc.place import FIRM, LIMITS, OWN_LIMIT, OWNER_PERSON, PASSWORD, PEOPLE, SIEVINGS, SITES
from demo.services import building, inspecting, load, weather
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.vocabulary import RecommendationStatus
from maintenance.models import CleaningEvent, Recommendation
from planning.models import Agreement, Visit, VisitTask
from planning.selectors.outputs import planned_min
from planning.services.crews import outputs_now
from qa.models import (
    InfiltrationTest,
    Inspection,
    InspectionFinding,
    RainRecord,
    Sieving,
    Site,
    SourceChange,
    Surface,
)
from qa.models import TestRound as Round
from qa.selectors.rain_records import KnownRain, doubtful_rounds
from tests.clock import TODAY

# As few as hold one of each thing: sieved, inspected, mended, swept, held to the firm's own limit, not tested.
WANTED = {
    "Lower Quay School": ("Front yard", "Staff car park"),
    "Millrace School": ("Ball court",),
    "Weir Park": ("River walk",),
    "Alder Rise": ("Parking, east",),
    "Fennick Yard": ("Lorry park", "Office parking"),
    "Tollgate Green": ("Home zone", "Square"),
}
SOME = [
    replace(site, surfaces=tuple(s for s in site.surfaces if s.name in WANTED[site.name]))
    for site in SITES
    if site.name in WANTED
]


def load_some(told, sites=SOME, without=()):
    """Load the firm with some of its sites. The construction records are another test's, so there are none."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(load, "SITES", sites)
        patch.setattr(building, "build", lambda *args: None)
        for step in without:
            patch.setattr(*step, lambda *args: None)
        return load.load_demo(TODAY, told.append)


@pytest.fixture(scope="module")
def told():
    return []


@pytest.fixture(scope="module")
def firm(told, django_db_setup, django_db_blocker):
    """The firm, loaded once for the tests of this file, which only read it or undo what they write."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield load_some(told)
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def undone(firm, db):
    """Whatever a test writes is undone after it."""


def test_the_people_may_do_what_their_roles_say_and_sign_in_with_the_password_shown(firm):
    roles = dict(Membership.objects.filter(organisation=firm).values_list("user__email", "role"))

    assert roles == {email: role for email, _, role in PEOPLE}
    assert all(user.check_password(PASSWORD) for user in User.objects.filter(email__endswith=".example"))
    assert User.objects.get(email=OWNER_PERSON[0]).owner_links.count() == 1


def test_the_sites_and_surfaces_are_those_of_the_recipe(firm):
    wanted = {
        (site.name, site.owner, s.name, s.kind, s.area_m2, round(s.area_m2 * s.run_on))
        for site in SOME
        for s in site.surfaces
    }
    found = Surface.objects.of_organisation(firm).values_list(
        "site__name", "site__owner__name", "name", "surface_type", "area_m2", "run_on_area_m2"
    )

    assert set(found) == wanted
    agreed = Agreement.objects.filter(site__organisation=firm)
    assert set(agreed.values_list("site__name", "tests_per_year", "cleanings_per_year")) == {
        (site.name, site.tests_per_year, site.cleanings_per_year) for site in SOME
    }


def test_each_surface_is_held_to_the_limit_that_its_recipe_names(firm):
    limits = dict(Surface.objects.of_organisation(firm).values_list("name", "limit_mm_h"))

    assert limits == {s.name: pytest.approx(LIMITS[s.limit][0]) for site in SOME for s in site.surfaces}
    assert [own.limit_mm_h for own in firm.own_limits.all()] == [OWN_LIMIT[1]]


def test_a_surface_is_tested_from_its_opening_on_unless_the_recipe_says_it_is_not(firm):
    tested = set(
        Round.objects.of_organisation(firm).values_list("surface__site__name", "surface__name").distinct()
    )

    assert tested == {(site.name, s.name) for site in SOME for s in site.surfaces if s.tested}
    assert not Round.objects.of_organisation(firm).filter(tested_on__gt=TODAY).exists()
    assert CleaningEvent.objects.of_organisation(firm).exists()


def test_one_test_is_set_aside_and_one_corrected_each_with_its_reason(firm):
    tests = InfiltrationTest.objects.of_organisation(firm)

    assert dict(Counter(tests.exclude(state="active").values_list("state", flat=True))) == {
        "void": 1,
        "replaced": 1,
    }
    assert all(tests.exclude(state="active").values_list("state_reason", flat=True))


def test_the_stone_sieved_is_that_of_the_recipe(firm):
    found = Sieving.objects.of_organisation(firm)

    assert [(one.layer.kind, one.designation, one.readings.rows) for one in found.order_by("created_at")] == [
        (kind, size, tuple(passing.items())) for kind, size, passing, _ in SIEVINGS
    ]


def test_what_was_inspected_put_right_and_changed_is_that_of_the_recipe(firm):
    findings = [finding for one in recipe.INSPECTIONS for finding in one.findings]
    stored = InspectionFinding.objects.of_organisation(firm)

    assert Inspection.objects.of_organisation(firm).count() == len(recipe.INSPECTIONS)
    assert {finding.what for finding in stored} == {finding.what for finding in findings}
    assert {f.what for f in stored if f.remedies.exists()} == {f.what for f in findings if f.done}
    assert {f.what for f in stored.filter(state="void")} == {f.what for f in findings if f.aside}
    changes = SourceChange.objects.of_organisation(firm)
    assert {(c.surface.name, c.kind, c.changed_on) for c in changes} == {
        (c.surface, c.kind, TODAY - timedelta(days=c.days_ago)) for c in recipe.CHANGES
    }


def test_what_was_done_in_the_last_half_year_stands_in_a_visit_that_is_done(firm):
    since = TODAY - timedelta(days=182)
    rounds = Round.objects.of_organisation(firm).filter(tested_on__gte=since, purpose="routine")
    cleanings = CleaningEvent.objects.of_organisation(firm).filter(cleaned_on__gte=since)
    tasks = VisitTask.objects.filter(visit__organisation=firm, visit__visit_on__lt=TODAY)

    assert rounds.exists()
    assert {task.round_id for task in tasks if task.round_id} == {row.pk for row in rounds}
    assert {task.cleaning_id for task in tasks if task.cleaning_id} == {row.pk for row in cleanings}
    assert set(tasks.values_list("visit__status", flat=True)) == {"done"}


def test_the_gauge_of_the_town_contradicts_tests_of_one_day_alone(firm):
    record = RainRecord.objects.get(organisation=firm)

    found = doubtful_rounds(record, Round.objects.all(), KnownRain(record))

    assert len({each.round.tested_on for each in found}) == 1
    assert set(firm.sites.values_list("rain_record", flat=True)) == {record.pk}


def test_the_crew_told_about_the_hours_that_a_plan_counts(firm):
    event = CleaningEvent.objects.filter(surface__site__organisation=firm).first()
    visit = Visit.objects.filter(organisation=firm).first()
    task = VisitTask.objects.create(
        visit=visit,
        surface=event.surface,
        action="clean",
        method=event.method,
        cleaning=event,
        ended_at=event.created_at,
        outcome="done",
    )

    assert weather.tell_hours(firm, seed=1) >= 1

    task.refresh_from_db()
    planned = planned_min(task, outputs_now(firm))
    assert 0.9 * planned <= task.taken_min <= 1.6 * planned


def test_what_an_inspection_found_is_planned_for_the_days_to_come(firm):
    (task,) = VisitTask.objects.filter(visit__organisation=firm, visit__visit_on__gt=TODAY)

    assert timedelta(days=3) <= task.visit.visit_on - TODAY <= timedelta(days=5)
    assert task.visit.visit_on.isoweekday() <= 5
    assert task.inspection_finding.is_open
    assert task.inspection_finding.severity == "urgent"


def test_whoever_waits_is_told_of_every_site(told):
    assert told[: len(SOME)] == [f"{n} of {len(SOME)} sites are recorded." for n in range(1, len(SOME) + 1)]


def give_up_its_name(firm):
    """Make room for a second load beside the first."""
    Organisation.objects.filter(pk=firm.pk).update(name="The first")
    for user in User.objects.filter(email__endswith="ossenfell.example"):
        user.email = f"first-{user.email}"
        user.save()


def test_the_same_recipe_on_the_same_day_gives_the_same_readings(firm):
    def readings(of):
        tests = InfiltrationTest.objects.of_organisation(of).filter(round__surface__site__name=SOME[0].name)
        names = (
            "round__surface__name",
            "round__tested_on",
            "location__label",
            "test_mass",
            "elapsed_s",
            "state",
        )
        return sorted(tests.values_list(*names))

    before = readings(firm)
    give_up_its_name(firm)

    again = load_some([], SOME[:1], without=[(load, "_sievings"), (inspecting, "inspect")])

    assert len(before) > 20
    assert readings(again) == before


def test_a_second_load_does_nothing_but_say_who_may_sign_in(firm, capsys):
    before = Site.objects.count(), User.objects.count()

    call_command("load_demo")

    assert (Site.objects.count(), User.objects.count()) == before
    said = capsys.readouterr().out
    assert "already there" in said
    assert all(email in said for email, _, _ in PEOPLE)


def test_a_load_that_fails_half_way_leaves_nothing(firm, monkeypatch):
    def fail(*args):
        raise RuntimeError("the disk is full")

    give_up_its_name(firm)
    monkeypatch.setattr(load, "_site", fail)

    with pytest.raises(RuntimeError, match="disk is full"):
        load.load_demo(TODAY)

    assert not load.demo_exists()
    assert not User.objects.filter(email=PEOPLE[0][0]).exists()


@pytest.fixture
def advised(firm):
    """Advice for eight surfaces, the last of them due last."""
    grounds = Grounds(record_version=1, reasons=("Because.",))
    surfaces = list(Surface.objects.of_organisation(firm).order_by("name"))[:8]
    return [
        Recommendation.objects.create(
            surface=surface,
            action="test",
            due_on=TODAY + timedelta(days=10 + number),
            earliest_on=TODAY + timedelta(days=4),
            currency="EUR",
            grounds=grounds,
        )
        for number, surface in enumerate(surfaces)
    ]


def test_of_the_advice_four_pieces_are_planned_and_one_declined(firm, advised, monkeypatch):
    """The forecasts give the advice; here it is at hand when the load comes to plan its visits."""
    staff = load.Staff(*(User.objects.get(email=email) for email, _, _ in PEOPLE[:3]))
    teams = list(firm.crews.order_by("name"))
    InspectionFinding.objects.filter(tasks__isnull=False).update(state="void")

    load._coming_visits(firm, teams, staff, TODAY)

    for row in advised:
        row.refresh_from_db()
    planned = [row for row in advised if row.status == RecommendationStatus.PLANNED]
    assert planned == advised[1:5]
    assert [row for row in advised if row.status == RecommendationStatus.DECLINED] == [advised[6]]
    assert "rebuilds the yard" in advised[6].decision_reason
    days = {(task.visit.crew, task.visit.visit_on) for row in planned for task in row.tasks.all()}
    earliest = (load._working_day(TODAY + timedelta(days=day)) for day in (4, 5))
    assert days == {(crew, day) for day in earliest for crew in teams}
    assert {day.isoweekday() for _, day in days} <= {1, 2, 3, 4, 5}
    assert Visit.objects.filter(visit_on__lt=TODAY, status="scheduled").count() == 0


def test_the_invented_place_says_that_it_is_invented(firm):
    assert "invented" in FIRM
    assert all("invented" in owner.address for owner in firm.owners.all())
    assert all("Invented" in site.access_note for site in Site.objects.filter(organisation=firm))
