"""What inspections found, on the first page and on visits."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils.timezone import now

from core.errors import AlreadyDoneError, NotAllowedNowError
from planning.models import Visit, VisitTask
from planning.selectors.todo import to_do
from planning.services import visits
from planning.services.matching import match_records_to_tasks
from qa.models import InspectionFinding
from qa.services import inspections
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    InspectionFactory,
    InspectionFindingFactory,
    RemedyFactory,
    SourceChangeFactory,
    VisitFactory,
    VisitTaskFactory,
)

SOON = TODAY + timedelta(days=5)


@pytest.fixture
def finding(firm):
    return InspectionFindingFactory(inspection__surface=firm.surface)


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation)


def plan(finding, firm, crew):
    return visits.plan_finding(finding=finding, by=firm.coordinator, visit_on=SOON, crew=crew)


def found_work(firm):
    return list(to_do(firm.coordinator, firm.organisation, now()).findings)


def test_a_finding_is_to_do_until_it_is_on_a_visit_and_again_when_that_is_called_off(firm, finding, crew):
    assert found_work(firm) == [finding]

    visit = plan(finding, firm, crew)
    assert found_work(firm) == []

    visits.cancel_visit(visit=visit, reason="Storm.")
    assert found_work(firm) == [finding]
    plan(finding, firm, crew)
    assert found_work(firm) == []


def test_another_firms_findings_are_not_ours(firm):
    InspectionFindingFactory()

    assert found_work(firm) == []


def test_a_finding_is_planned_once(firm, finding, crew):
    plan(finding, firm, crew)

    with pytest.raises(AlreadyDoneError, match="on a visit already"):
        plan(finding, firm, crew)


def test_a_closed_finding_is_not_planned(firm, finding, crew):
    RemedyFactory(finding=finding)

    with pytest.raises(NotAllowedNowError, match="corrected already"):
        plan(finding, firm, crew)


def test_two_findings_of_one_surface_go_on_one_visit(firm, finding, crew):
    other = InspectionFindingFactory(inspection=finding.inspection, item="edges", what="Gap")

    first, second = plan(finding, firm, crew), plan(other, firm, crew)

    assert first == second
    assert {task.title for task in first.tasks.all()} == {
        "Repair: Sediment on it: Sand along the bed",
        "Repair: Edges: Gap",
    }


def test_what_was_done_ends_the_task_and_with_the_last_one_the_visit(firm, finding, crew):
    visit = plan(finding, firm, crew)
    RemedyFactory(finding=finding, what="Kerb set.")

    match_records_to_tasks(surface=firm.surface)

    visit.refresh_from_db()
    assert visit.tasks.get().finding == "Kerb set."
    assert visit.status == "done"


def test_a_finding_set_aside_ends_the_task_with_the_reason(firm, finding, crew):
    visit = plan(finding, firm, crew)
    inspections.void_finding(finding=finding, by=firm.technician, reason="Harmless.")

    match_records_to_tasks(surface=firm.surface)

    assert visit.tasks.get().finding == "Set aside: Harmless."


def test_a_corrected_finding_stays_on_its_visit(firm, finding, crew):
    visit = plan(finding, firm, crew)
    new = InspectionFinding(inspection=finding.inspection, what="Mud", due_on=TODAY)
    inspections.correct_finding(old=finding, new=new, by=firm.technician, reason="Mud.")

    match_records_to_tasks(surface=firm.surface)

    task = visit.tasks.get()
    assert (task.inspection_finding, task.is_done) == (new, False)
    assert found_work(firm) == []


@pytest.mark.parametrize(
    ("action", "factory", "day", "name"),
    [
        ("inspect", InspectionFactory, "inspected_on", "inspection"),
        ("source", SourceChangeFactory, "changed_on", "source_change"),
    ],
)
def test_a_planned_inspection_or_search_is_done_by_its_record(firm, crew, action, factory, day, name):
    visit = VisitFactory(crew=crew, visit_on=TODAY)
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action=action)
    record = factory(surface=firm.surface, **{day: TODAY})

    match_records_to_tasks(surface=firm.surface)

    task.refresh_from_db()
    assert getattr(task, name) == record
    assert Visit.objects.get(pk=visit.pk).status == "done"


def test_a_coordinator_plans_a_finding_from_its_page_and_the_crew_is_led_to_the_record(
    client, firm, finding, crew
):
    client.force_login(firm.coordinator)
    url = reverse("planning:finding-plan", args=[finding.pk])
    assert url in client.get(finding.get_absolute_url()).content.decode()

    answer = client.post(url, {"visit_on": SOON.isoformat(), "crew": str(crew.pk)})

    task = VisitTask.objects.get()
    assert answer.url == task.visit.get_absolute_url()
    client.force_login(firm.technician)
    page = client.get(answer.url).content.decode()
    assert reverse("qa:remedy-create", args=[finding.pk]) in page


def test_a_repair_is_planned_from_its_finding_and_never_by_hand(client, firm, crew):
    visit = VisitFactory(crew=crew)
    client.force_login(firm.coordinator)

    page = client.get(reverse("planning:task-create", args=[visit.pk])).content.decode()

    assert 'value="inspect"' in page
    assert 'value="repair"' not in page


def test_the_first_page_asks_no_more_for_many_findings(client, firm, django_assert_max_num_queries, finding):
    client.force_login(firm.coordinator)
    client.get("/")
    with django_assert_max_num_queries(60) as few:
        client.get("/")
    for number in range(6):
        InspectionFindingFactory(inspection=finding.inspection, item="edges", what=f"Gap {number}")

    with django_assert_max_num_queries(len(few)):
        client.get("/")
