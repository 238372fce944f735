"""The pages of visits, crews, agreements and advice: what is sent is stored, and what is refused is said in words."""

from datetime import timedelta

import pytest
from django.urls import reverse

from core.calc.months import Months
from maintenance.calc.advice_payload import Grounds
from maintenance.models import Recommendation
from planning.calc.vocabulary import VisitStatus
from planning.models import Agreement, Crew, Visit, VisitTask
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CrewFactory,
    MembershipFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.pages import as_shown

NEXT_WEEK = TODAY + timedelta(days=7)


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, name="North crew")


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


def advice_for(surface, **changes):
    values = {"action": "clean", "method": "vacuum", "due_on": TODAY, "earliest_on": TODAY, "currency": "EUR"}
    return Recommendation.objects.create(surface=surface, **values | {"grounds": BECAUSE} | changes)


def said(answer):
    return [str(message) for message in answer.context["messages"]]


def test_a_visit_is_planned_by_whoever_sends_it(office, firm, crew):
    sent = {"visit_on": NEXT_WEEK.isoformat(), "crew": str(crew.pk), "note": "Bring the large ring."}

    answer = office.post(reverse("planning:visit-create"), sent)

    visit = Visit.objects.get()
    assert answer.url == visit.get_absolute_url()
    assert (visit.visit_on, visit.crew, visit.planned_by) == (NEXT_WEEK, crew, firm.coordinator)
    assert (visit.organisation, visit.status, visit.note) == (
        firm.organisation,
        "scheduled",
        "Bring the large ring.",
    )


def test_a_visit_that_lies_behind_can_be_given_to_another_crew_but_not_to_another_day_behind(
    office, firm, crew
):
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation), visit_on=TODAY - timedelta(days=3))
    url = reverse("planning:visit-edit", args=[visit.pk])

    kept = office.post(url, {"visit_on": visit.visit_on.isoformat(), "crew": str(crew.pk)})
    moved = office.post(url, {"visit_on": (TODAY - timedelta(days=2)).isoformat(), "crew": str(crew.pk)})

    visit.refresh_from_db()
    assert (kept.status_code, visit.crew, visit.visit_on) == (302, crew, TODAY - timedelta(days=3))
    assert "is in the past" in str(moved.context["form"].errors["visit_on"])


@pytest.mark.parametrize("status", [VisitStatus.DONE, VisitStatus.CANCELLED])
@pytest.mark.parametrize("route", ["planning:visit-edit", "planning:task-create", "planning:visit-cancel"])
def test_a_closed_visit_takes_no_change_and_says_how_it_stands(office, firm, crew, route, status):
    visit = VisitFactory(crew=crew, status=status, visit_on=NEXT_WEEK)
    sent = {
        "visit_on": NEXT_WEEK.isoformat(),
        "crew": str(crew.pk),
        "surface": str(firm.surface.pk),
        "action": "test",
        "reason": "Rain.",
        "note": "changed",
    }

    answer = office.post(reverse(route, args=[visit.pk]), sent)

    visit.refresh_from_db()
    assert answer.status_code == 409
    assert f"This visit is {status.label.lower()}." in as_shown(answer.content.decode())
    assert (visit.status, visit.note, visit.tasks.count()) == (status, "", 0)


def test_a_task_is_put_on_a_visit(office, firm, crew):
    visit = VisitFactory(crew=crew)
    sent = {"surface": str(firm.surface.pk), "action": "clean", "method": "vacuum"}

    answer = office.post(reverse("planning:task-create", args=[visit.pk]), sent)

    task = VisitTask.objects.get()
    assert answer.url == visit.get_absolute_url()
    assert (task.visit, task.surface, task.action, task.method) == (visit, firm.surface, "clean", "vacuum")


@pytest.mark.parametrize("action", ["clean", "rejoint"])
def test_a_cleaning_needs_its_method(office, firm, crew, action):
    sent = {"surface": str(firm.surface.pk), "action": action}

    answer = office.post(reverse("planning:task-create", args=[VisitFactory(crew=crew).pk]), sent)

    assert answer.context["form"].errors["method"] == ["Say which way of cleaning."]
    assert not VisitTask.objects.exists()


@pytest.mark.parametrize("action", ["test", "look"])
def test_what_is_no_cleaning_keeps_no_method(office, firm, crew, action):
    sent = {"surface": str(firm.surface.pk), "action": action, "method": "vacuum"}

    office.post(reverse("planning:task-create", args=[VisitFactory(crew=crew).pk]), sent)

    assert VisitTask.objects.get().method == ""


def test_a_surface_that_was_removed_is_not_offered_for_work(office, firm, crew):
    gone = SurfaceFactory(site=firm.site, removed_on=TODAY)

    answer = office.post(
        reverse("planning:task-create", args=[VisitFactory(crew=crew).pk]),
        {"surface": str(gone.pk), "action": "test"},
    )

    assert "not one of the available choices" in str(answer.context["form"].errors["surface"])


def test_the_same_task_twice_is_refused_in_words(office, firm, crew):
    task = VisitTaskFactory(visit=VisitFactory(crew=crew), surface=firm.surface, action="test")

    answer = office.post(
        reverse("planning:task-create", args=[task.visit.pk]),
        {"surface": str(firm.surface.pk), "action": "test"},
    )

    assert "already has that task" in as_shown(answer.content.decode())
    assert VisitTask.objects.count() == 1


def test_a_task_taken_off_is_named(office, firm, crew):
    task = VisitTaskFactory(visit=VisitFactory(crew=crew), surface=firm.surface, action="test")

    answer = office.post(reverse("planning:task-remove", args=[task.pk]), follow=True)

    assert said(answer) == [f"Test at {firm.surface} is off the visit."]
    assert not VisitTask.objects.exists()


def test_a_finding_ends_a_task_and_keeps_what_was_found(office, firm, crew):
    task = VisitTaskFactory(visit=VisitFactory(crew=crew), surface=firm.surface, action="look")

    answer = office.post(
        reverse("planning:task-finish", args=[task.pk]), {"finding": "  Moss in the north.  "}
    )

    task.refresh_from_db()
    assert answer.url == task.visit.get_absolute_url()
    assert (task.finding, task.is_done, task.visit.status) == ("Moss in the north.", True, "done")


@pytest.mark.parametrize("finding", ["", "   "])
def test_a_task_without_a_finding_stays_open(office, firm, crew, finding):
    task = VisitTaskFactory(visit=VisitFactory(crew=crew), surface=firm.surface, action="look")

    answer = office.post(reverse("planning:task-finish", args=[task.pk]), {"finding": finding})

    task.refresh_from_db()
    assert answer.context["form"].errors["finding"]
    assert not task.is_done


def test_a_visit_called_off_keeps_why_and_opens_its_advice_anew(office, firm, crew):
    visit = VisitFactory(crew=crew)
    row = advice_for(firm.surface, status="planned")
    VisitTaskFactory(visit=visit, surface=firm.surface, action="clean", method="vacuum", recommendation=row)
    before = firm.surface.record_version

    office.post(reverse("planning:visit-cancel", args=[visit.pk]), {"reason": " Frost all week. "})

    for stored in (visit, row, firm.surface):
        stored.refresh_from_db()
    assert (visit.status, visit.cancel_reason, row.status) == ("cancelled", "Frost all week.", "overtaken")
    assert firm.surface.record_version > before


def test_advice_is_planned_with_another_method_and_the_reason_for_it(office, firm, crew):
    row = advice_for(firm.surface)
    sent = {
        "visit_on": NEXT_WEEK.isoformat(),
        "crew": str(crew.pk),
        "method": "wash_vacuum",
        "reason": "It is greasy.",
    }

    office.post(reverse("planning:recommendation-plan", args=[row.pk]), sent)

    row.refresh_from_db()
    assert (row.status, row.method, row.planned_method) == ("planned", "vacuum", "wash_vacuum")
    assert (row.decision_reason, row.decided_by) == ("It is greasy.", firm.coordinator)
    assert row.decided_at is not None
    assert VisitTask.objects.get().method == "wash_vacuum"


def test_another_method_without_a_reason_is_refused_beside_the_reason_and_no_visit_is_made(
    office, firm, crew
):
    row = advice_for(firm.surface)
    sent = {"visit_on": NEXT_WEEK.isoformat(), "crew": str(crew.pk), "method": "wash_vacuum"}

    answer = office.post(reverse("planning:recommendation-plan", args=[row.pk]), sent)

    row.refresh_from_db()
    assert "Say why" in str(answer.context["form"].errors["reason"])
    assert (row.status, Visit.objects.count(), VisitTask.objects.count()) == ("open", 0, 0)


def test_a_method_that_does_not_suit_the_surface_is_not_offered(office, firm, crew):
    row = advice_for(firm.surface)  # of pavers: milling is for porous layers

    answer = office.post(
        reverse("planning:recommendation-plan", args=[row.pk]),
        {"visit_on": NEXT_WEEK.isoformat(), "crew": str(crew.pk), "method": "mill", "reason": "Why not."},
    )

    assert "mill is not one of the available choices" in str(answer.context["form"].errors["method"])


def test_a_dear_restoration_is_planned_only_with_a_persons_word(office, firm, crew):
    grounds = Grounds(firm.surface.record_version, ("Because.",), wants_word=True)
    row = advice_for(firm.surface, action="rejoint", method="joint_refill", grounds=grounds)
    url = reverse("planning:recommendation-plan", args=[row.pk])
    sent = {"visit_on": NEXT_WEEK.isoformat(), "crew": str(crew.pk), "method": "joint_refill"}

    refused = office.post(url, sent)
    before = Visit.objects.count()
    taken = office.post(url, sent | {"decided": "on"})

    assert "Say that you have decided" in str(refused.context["form"].errors["decided"])
    assert (before, taken.status_code, Visit.objects.count()) == (0, 302, 1)


def test_a_test_is_planned_without_being_asked_for_a_method(office, firm, crew):
    row = advice_for(firm.surface, action="test", method="")
    page = office.get(reverse("planning:recommendation-plan", args=[row.pk]))

    office.post(
        reverse("planning:recommendation-plan", args=[row.pk]),
        {"visit_on": NEXT_WEEK.isoformat(), "crew": str(crew.pk)},
    )

    assert "method" not in page.context["form"].fields
    assert VisitTask.objects.get().action == "test"


@pytest.mark.parametrize("days", [-20, 0, 12])
def test_planning_begins_with_the_first_workable_day_that_is_not_behind(office, firm, days):
    row = advice_for(firm.surface, earliest_on=TODAY + timedelta(days=days))

    form = office.get(reverse("planning:recommendation-plan", args=[row.pk])).context["form"]

    assert form.initial["visit_on"] == TODAY + timedelta(days=max(days, 0))


@pytest.mark.parametrize("route", ["planning:recommendation-plan", "planning:recommendation-decline"])
@pytest.mark.parametrize("status", ["planned", "declined", "done", "overtaken"])
def test_advice_that_was_decided_meanwhile_says_so(office, firm, crew, route, status):
    row = advice_for(firm.surface, status=status)
    sent = {
        "visit_on": NEXT_WEEK.isoformat(),
        "crew": str(crew.pk),
        "method": "vacuum",
        "reason": "Too late.",
    }

    answer = office.post(reverse(route, args=[row.pk]), sent)

    row.refresh_from_db()
    assert answer.status_code == 409
    assert "Reload the page" in as_shown(answer.content.decode())
    assert (row.status, row.decision_reason, Visit.objects.count()) == (status, "", 0)


def test_a_crew_is_kept_with_its_people_and_changed_without_losing_who_changed_it(office, firm):
    people = [str(firm.technician.pk), str(firm.viewer.pk)]
    office.post(reverse("planning:crew-create"), {"name": "South", "people": people, "hours_a_day": "7.5"})
    crew = Crew.objects.get()

    office.post(
        reverse("planning:crew-edit", args=[crew.pk]),
        {"name": "South-west", "people": people[:1], "hours_a_day": "8"},
    )

    crew.refresh_from_db()
    assert (crew.name, crew.organisation, list(crew.people.all())) == (
        "South-west",
        firm.organisation,
        [firm.technician],
    )
    assert [(row.name, row.history_user) for row in crew.history.all()] == [
        ("South-west", firm.coordinator),
        ("South", firm.coordinator),
    ]


def test_two_crews_of_one_name_are_refused_in_words_but_not_of_two_firms(office, firm, crew):
    CrewFactory(name="Elsewhere")
    url = reverse("planning:crew-create")

    same = office.post(url, {"name": crew.name, "hours_a_day": "8"})
    of_another_firm = office.post(url, {"name": "Elsewhere", "hours_a_day": "8"})

    assert "already a crew of this name" in as_shown(same.content.decode())
    assert of_another_firm.status_code == 302


@pytest.mark.parametrize(
    ("hours", "said_of_it"), [("0.4", "too small"), ("24.5", "too large"), ("x", "Enter a number")]
)
def test_a_working_day_has_hours_that_can_be(office, hours, said_of_it):
    answer = office.post(reverse("planning:crew-create"), {"name": "South", "hours_a_day": hours})

    assert said_of_it in str(answer.context["form"].errors["hours_a_day"])
    assert not Crew.objects.exists()


def test_somebody_who_left_the_firm_is_not_offered_for_its_crews(office, firm, crew):
    leaver = MembershipFactory(organisation=firm.organisation)
    crew.people.add(leaver.user)
    leaver.delete()

    answer = office.get(reverse("planning:crew-edit", args=[crew.pk]))

    assert leaver.user not in answer.context["form"].fields["people"].queryset


def test_an_agreement_is_stored_once_and_makes_the_sites_forecasts_stale(office, firm):
    url = reverse("planning:agreement-edit", args=[firm.site.pk])
    other = SurfaceFactory(site=firm.site)
    elsewhere = SurfaceFactory()
    sent = {
        "tests_per_year": "2",
        "cleanings_per_year": "0.5",
        "notice_days": "60",
        "report_months": ["3", "9"],
        "since": "2025-01-01",
    }

    office.post(url, sent)
    office.post(url, sent | {"tests_per_year": "4"})

    agreement = Agreement.objects.get()
    assert (agreement.tests_per_year, agreement.cleanings_per_year) == (4.0, 0.5)
    assert agreement.report_months == Months((3, 9))
    for surface in (firm.surface, other, elsewhere):
        surface.refresh_from_db()
    assert (firm.surface.record_version, other.record_version, elsewhere.record_version) == (3, 3, 1)


def test_a_refused_agreement_leaves_the_forecasts_alone(office, firm):
    office.post(
        reverse("planning:agreement-edit", args=[firm.site.pk]),
        {"tests_per_year": "99", "cleanings_per_year": "0"},
    )

    firm.surface.refresh_from_db()
    assert firm.surface.record_version == 1
    assert not Agreement.objects.exists()
