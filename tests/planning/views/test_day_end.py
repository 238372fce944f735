"""The pages on which a crew tells how its day went, and what follows from them."""

from datetime import timedelta

import pytest
from django.urls import reverse

from maintenance.models import CleaningEvent
from planning.models import VisitTask
from planning.services import visits
from tests.clock import TODAY
from tests.factories import CleaningFactory, CrewFactory, VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def visit(firm):
    return VisitFactory(crew=CrewFactory(organisation=firm.organisation), visit_on=TODAY)


@pytest.fixture
def crewman(client, firm):
    client.force_login(firm.technician)
    return client


def task_on(visit, surface, **values):
    return VisitTaskFactory(
        visit=visit, surface=surface, **({"action": "clean", "method": "vacuum"} | values)
    )


def cleaned(task):
    event = CleaningFactory(surface=task.surface, cleaned_on=task.visit.visit_on)
    return visits.finish_task(task=task, cleaning=CleaningEvent.objects.get(pk=event.pk))


def tell(client, visit, **fields):
    return client.post(reverse("planning:visit-tell", args=[visit.pk]), fields)


def test_a_crew_tells_what_was_not_done_and_why(crewman, firm, visit):
    task = task_on(visit, firm.surface)
    key = f"task-{task.pk}"

    answer = tell(crewman, visit, **{f"{key}-outcome": "not_done", f"{key}-reason": "Cars stood on it."})

    page = crewman.get(answer.url).content.decode()
    assert "not done" in page
    assert "Cars stood on it." in page


def test_a_missing_reason_is_asked_for_beside_its_task_and_what_was_typed_stays(crewman, firm, visit):
    task, done = task_on(visit, firm.surface), cleaned(task_on(visit, firm.surface, action="rejoint"))

    answer = tell(crewman, visit, **{f"task-{task.pk}-outcome": "not_done", f"task-{done.pk}-taken_h": "2.5"})

    page = answer.content.decode()
    assert "Say why. It stays readable beside the task." in page
    assert 'value="2.5"' in page
    assert VisitTask.objects.get(pk=done.pk).taken_min is None


def test_hours_are_asked_for_beside_what_a_plan_counts(crewman, firm, visit):
    done = cleaned(task_on(visit, firm.surface))

    page = crewman.get(reverse("planning:visit-tell", args=[visit.pk])).content.decode()

    assert "A plan counts " in page
    tell(crewman, visit, **{f"task-{done.pk}-taken_h": "1.75", f"task-{done.pk}-outcome": "done"})
    done.refresh_from_db()
    assert done.taken_min == 105
    assert "1.8 h" in crewman.get(visit.get_absolute_url()).content.decode()


def test_how_a_task_ended_is_told_once(crewman, firm, visit):
    task = task_on(visit, firm.surface)
    other = task_on(visit, firm.surface, action="inspect", method="")
    tell(crewman, visit, **{f"task-{task.pk}-outcome": "not_done", f"task-{task.pk}-reason": "Rain."})

    page = crewman.get(reverse("planning:visit-tell", args=[visit.pk])).content.decode()

    assert f'name="task-{task.pk}-outcome"' not in page
    assert f'name="task-{other.pk}-outcome"' in page
    assert "Rain." in page


def test_the_rest_is_planned_from_the_first_page(client, firm, visit):
    task = task_on(visit, firm.surface)
    client.force_login(firm.coordinator)
    tell(client, visit, **{f"task-{task.pk}-outcome": "not_done", f"task-{task.pk}-reason": "Rain."})
    address = reverse("planning:task-rest-plan", args=[task.pk])
    assert address in client.get("/").content.decode()

    form = client.get(address).context["form"]
    sent = {"visit_on": TODAY + 7 * DAY, "crew": visit.crew.pk, "device_id": form["device_id"].value()}
    answers = [client.post(address, sent) for _ in range(2)]

    assert answers[0].url == answers[1].url
    assert task.followed_by.count() == 1
    assert address not in client.get("/").content.decode()


def test_the_rest_is_given_up_with_why(client, firm, visit):
    task = task_on(visit, firm.surface)
    client.force_login(firm.coordinator)
    tell(client, visit, **{f"task-{task.pk}-outcome": "not_done", f"task-{task.pk}-reason": "Rain."})
    address = reverse("planning:task-rest-give-up", args=[task.pk])

    assert client.post(address, {"reason": ""}).status_code == 200
    client.post(address, {"reason": "Sold."})

    assert VisitTask.objects.get(pk=task.pk).outcome == "given_up"


def test_the_test_after_a_cleaning_is_offered_until_it_is_planned(client, firm, visit):
    task = cleaned(task_on(visit, firm.surface))
    client.force_login(firm.coordinator)
    address = reverse("planning:task-test-plan", args=[task.pk])
    assert address in client.get(visit.get_absolute_url()).content.decode()

    form = client.get(address).context["form"]
    assert form["visit_on"].value() == TODAY + 7 * DAY
    sent = {
        "visit_on": form["visit_on"].value(),
        "crew": visit.crew.pk,
        "device_id": form["device_id"].value(),
    }
    answers = [client.post(address, sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert task.followed_by.get().action == "test"
    assert address not in client.get(visit.get_absolute_url()).content.decode()


def test_the_page_of_a_crew_says_what_its_hours_taught(client, firm):
    crew = CrewFactory(organisation=firm.organisation)
    for number in range(3):
        visit = VisitFactory(crew=crew, visit_on=TODAY - number * DAY)
        task = cleaned(task_on(visit, firm.surface))
        VisitTask.objects.filter(pk=task.pk).update(taken_min=75)
    client.force_login(firm.viewer)

    page = client.get(crew.get_absolute_url()).content.decode()

    assert "Outputs learnt from hours told" in page
    assert "3 jobs told" in page


def test_a_visit_with_many_tasks_costs_as_many_queries_as_one(
    client, firm, visit, django_assert_max_num_queries
):
    client.force_login(firm.coordinator)
    task_on(visit, firm.surface)
    address = reverse("planning:visit-tell", args=[visit.pk])
    client.get(address)
    for action in ("test", "inspect", "look", "source"):
        task_on(visit, firm.surface, action=action, method="")

    with django_assert_max_num_queries(17):
        client.get(address)
