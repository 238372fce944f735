"""What visits, their tasks, crews and agreements refuse, and that nothing is stored then."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from core.errors import AlreadyDoneError, NotAllowedNowError
from maintenance.models import Recommendation
from planning.calc.vocabulary import VisitStatus
from planning.models import Agreement, Crew, Visit, VisitTask
from planning.services import visits
from planning.services.agreements import save_agreement
from planning.services.crews import save_crew
from qa.services import inspections
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CrewFactory,
    InspectionFindingFactory,
    RemedyFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.refusals import refused

AHEAD = TODAY + timedelta(days=7)
PAST = TODAY - timedelta(days=3)


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, name="North")


@pytest.fixture
def visit(crew):
    return VisitFactory(crew=crew, visit_on=AHEAD)


@pytest.fixture
def advice(firm):
    return Recommendation.objects.create(
        surface=firm.surface,
        action="clean",
        method="vacuum",
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        grounds=BECAUSE,
    )


@pytest.fixture
def finding(firm):
    return InspectionFindingFactory(inspection__surface=firm.surface)


def plan(firm, advice, crew, **fields):
    values = {"by": firm.coordinator, "visit_on": AHEAD, "crew": crew}
    return visits.plan(recommendation=advice, **values | fields)


def plan_finding(firm, finding, crew, **fields):
    values = {"by": firm.coordinator, "visit_on": AHEAD, "crew": crew}
    return visits.plan_finding(finding=finding, **values | fields)


# ---- Visits --------------------------------------------------------------------------------------


def test_a_new_visit_in_the_past_is_told_with_its_day(firm, crew):
    with refused(ValidationError, PAST, "Give a day from today on.", beside="visit_on"):
        visits.save_visit(visit=Visit(organisation=firm.organisation, crew=crew, visit_on=PAST))


def test_a_visit_is_not_moved_into_the_past(visit):
    visit.visit_on = PAST

    with refused(ValidationError, PAST, beside="visit_on"):
        visits.save_visit(visit=visit)


def test_a_visit_that_was_overtaken_by_its_day_still_takes_a_note(crew):
    overdue = VisitFactory(crew=crew, visit_on=PAST)
    overdue.note = "Nobody came."

    visits.save_visit(visit=overdue)

    assert Visit.objects.get(pk=overdue.pk).note == "Nobody came."


def test_a_visit_does_not_go_to_a_crew_of_another_firm(visit):
    visit.crew = CrewFactory(name="Strangers")

    with refused(ValidationError, "Strangers belongs to another firm."):
        visits.save_visit(visit=visit)


@pytest.mark.parametrize("status", [VisitStatus.DONE, VisitStatus.CANCELLED])
def test_a_closed_visit_is_not_changed_called_off_or_given_a_task(firm, visit, status):
    Visit.objects.filter(pk=visit.pk).update(status=status)
    words = f"This visit is {VisitStatus(status).label.lower()}. Plan a new one instead."

    with refused(NotAllowedNowError, words):
        visits.save_visit(visit=visit)
    with refused(NotAllowedNowError, words):
        visits.cancel_visit(visit=visit, reason="Rain.")
    with refused(NotAllowedNowError, words):
        visits.add_task(visit=visit, surface=firm.surface, action="test")


@pytest.mark.parametrize("reason", ["", "   "])
def test_a_visit_is_called_off_with_a_reason(visit, reason):
    with refused(ValidationError, "Say why", beside="reason"):
        visits.cancel_visit(visit=visit, reason=reason)


def test_a_visit_sent_twice_is_stored_once_and_another_firms_id_finds_nothing(firm, crew):
    key = uuid4()

    def send(crew):
        row = Visit(organisation=crew.organisation, crew=crew, visit_on=AHEAD, device_id=key)
        return visits.save_visit(visit=row)

    first, strangers = send(crew), CrewFactory()

    assert send(crew) == first
    with refused(ValidationError, beside="device_id"):
        send(strangers)


# ---- Tasks ---------------------------------------------------------------------------------------


def test_a_surface_of_another_firm_is_named(visit):
    elsewhere = SurfaceFactory(name="Their lane")

    with refused(ValidationError, "Their lane", "belongs to another firm."):
        visits.add_task(visit=visit, surface=elsewhere, action="test")


def test_a_task_stands_once_on_a_visit_until_it_is_done(firm, visit):
    first = visits.add_task(visit=visit, surface=firm.surface, action="look")
    visits.add_task(visit=visit, surface=firm.surface, action="test")

    with refused(ValidationError, "This visit already has that task for the surface."):
        visits.add_task(visit=visit, surface=firm.surface, action="look")
    visits.finish_task(task=first, finding="Roots.")
    assert visits.add_task(visit=visit, surface=firm.surface, action="look") != first


@pytest.mark.parametrize(("field", "value"), [("action", "dance"), ("method", "leaf_blower")])
def test_a_task_is_one_of_those_there_are(firm, visit, field, value):
    with refused(ValidationError, beside=field):
        visits.add_task(visit=visit, surface=firm.surface, **{"action": "clean", field: value})


@pytest.mark.parametrize("found", ["", "  \n"])
def test_a_task_without_a_record_says_what_was_found(firm, visit, found):
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action="look")

    with refused(ValidationError, "Say what was found, or record what was done.", beside="finding"):
        visits.finish_task(task=task, finding=found)


def test_a_task_of_a_cancelled_visit_is_neither_finished_nor_lost(firm, visit):
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action="look")
    visits.cancel_visit(visit=visit, reason="Rain.")

    with refused(NotAllowedNowError, "This visit is cancelled"):
        visits.finish_task(task=task, finding="Roots.")


def test_a_done_task_is_not_taken_off_and_finishing_it_again_keeps_the_first_words(firm, visit):
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action="look")
    second = VisitTask.objects.get(pk=task.pk)
    visits.finish_task(task=task, finding="Roots.")

    with refused(NotAllowedNowError, "This task has ended already."):
        visits.remove_task(task=second)
    again = visits.finish_task(task=second, finding="Leaves.")
    assert again.finding == "Roots."


# ---- Planning what was advised or found ----------------------------------------------------------


def test_advice_planned_into_the_past_stays_open(firm, advice, crew):
    with refused(ValidationError, PAST, beside="visit_on"):
        plan(firm, advice, crew, visit_on=PAST)


def test_advice_for_a_crew_of_another_firm_makes_no_visit(firm, advice):
    strangers = CrewFactory(name="Strangers")

    with refused(ValidationError, "Strangers belongs to another firm."):
        plan(firm, advice, strangers)


@pytest.mark.parametrize("reason", ["", "  "])
def test_another_way_than_advised_needs_its_reason(firm, advice, crew, reason):
    with refused(ValidationError, "Say why", beside="reason"):
        plan(firm, advice, crew, method="broom", reason=reason)


@pytest.mark.parametrize("status", ["declined", "done", "overtaken", "planned"])
def test_advice_that_was_decided_meanwhile_is_not_planned(firm, advice, crew, status):
    Recommendation.objects.filter(pk=advice.pk).update(status=status)

    with refused(AlreadyDoneError, "This advice is already", "Reload the page"):
        plan(firm, advice, crew)


def test_advice_planned_twice_by_one_sending_is_one_task(firm, advice, crew):
    key = uuid4()

    first = plan(firm, advice, crew, device_id=key)
    second = plan(firm, advice, crew, device_id=key)

    assert first == second
    assert first.tasks.count() == 1


def test_a_finding_planned_twice_by_one_sending_is_one_task(firm, finding, crew):
    key = uuid4()

    first = plan_finding(firm, finding, crew, device_id=key)
    second = plan_finding(firm, finding, crew, device_id=key)

    assert (first, first.tasks.count()) == (second, 1)


def test_a_finding_planned_into_the_past_stays_unplanned(firm, finding, crew):
    with refused(ValidationError, PAST, beside="visit_on"):
        plan_finding(firm, finding, crew, visit_on=PAST)


def test_a_finding_on_a_visit_is_not_put_on_another(firm, finding, crew):
    plan_finding(firm, finding, crew)

    with refused(AlreadyDoneError, "This finding is on a visit already. Change that visit instead."):
        plan_finding(firm, finding, crew, visit_on=AHEAD + timedelta(days=1))


CLOSE = {
    "corrected": lambda firm, row: RemedyFactory(finding=row),
    "set aside": lambda firm, row: inspections.void_finding(finding=row, by=firm.admin, reason="No."),
}


@pytest.mark.parametrize("state", CLOSE)
def test_a_finding_that_is_closed_is_not_planned(firm, finding, crew, state):
    CLOSE[state](firm, finding)

    with refused(NotAllowedNowError, f"This finding is {state} already."):
        plan_finding(firm, finding, crew)


# ---- Crews and agreements ------------------------------------------------------------------------


def test_a_crew_has_a_name_of_its_own_within_the_firm(firm, crew):
    CrewFactory(name="South")

    with refused(ValidationError, "There is already a crew of this name. Tell them apart."):
        save_crew(crew=Crew(organisation=firm.organisation, name="North"))
    assert save_crew(crew=Crew(organisation=firm.organisation, name="South")).pk


@pytest.mark.parametrize("hours", [0.0, 25.0])
def test_a_crew_works_some_of_the_hours_of_a_day(firm, hours):
    with refused(ValidationError, beside="hours_a_day"):
        save_crew(crew=Crew(organisation=firm.organisation, name="Night", hours_a_day=hours))


def test_a_crew_stored_without_people_keeps_those_it_has(firm, crew):
    save_crew(crew=crew, people=[firm.technician, firm.viewer])

    save_crew(crew=crew)
    kept = set(crew.people.all())
    save_crew(crew=crew, people=[])

    assert kept == {firm.technician, firm.viewer}
    assert not crew.people.exists()


@pytest.mark.parametrize(
    ("fields", "beside"),
    [
        ({"tests_per_year": -1.0}, "tests_per_year"),
        ({"cleanings_per_year": 53.0}, "cleanings_per_year"),
        ({"price_per_year": -1}, "price_per_year"),
        ({"notice_days": 731}, "notice_days"),
        ({"since": date(2026, 1, 1), "until": date(2025, 12, 31)}, "__all__"),
    ],
)
def test_an_agreement_beyond_reason_is_refused_and_the_advice_stays(firm, fields, beside):
    agreement = Agreement(site=firm.site, **fields)

    with refused(ValidationError, beside=beside):
        save_agreement(agreement=agreement)


def test_a_site_has_one_agreement(firm):
    save_agreement(agreement=Agreement(site=firm.site))

    with refused(ValidationError, beside="site"):
        save_agreement(agreement=Agreement(site=firm.site))
