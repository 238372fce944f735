"""What a visit's page offers for each of its tasks."""

import pytest
from django.urls import reverse

from maintenance.calc.vocabulary import Action
from planning.calc.vocabulary import VisitStatus
from planning.presentation.tasks import task_line
from tests.factories import VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db


def finish_url(task):
    return reverse("planning:task-finish", args=[task.pk])


def test_a_test_is_got_done_by_recording_a_round():
    task = VisitTaskFactory(action=Action.TEST, method="")

    line = task_line(task)

    assert line.step == "Record the test"
    assert line.url == reverse("qa:round-create", args=[task.surface_id])
    assert line.drop_url == finish_url(task)


def test_a_cleaning_leads_to_its_form_with_the_method_and_back_to_the_visit():
    task = VisitTaskFactory(action=Action.CLEAN, method="vacuum")

    line = task_line(task)

    assert line.step == "Record the cleaning"
    path, query = line.url.split("?")
    assert path == reverse("maintenance:cleaning-create", args=[task.surface_id])
    assert query == f"method=vacuum&next={task.visit.get_absolute_url().replace('/', '%2F')}"


def test_a_look_is_finished_where_it_would_be_dropped():
    task = VisitTaskFactory(action=Action.LOOK, method="")

    line = task_line(task)

    assert line.url == finish_url(task)
    assert line.drop_url == ""


@pytest.mark.parametrize(
    ("status", "pending"),
    [(VisitStatus.SCHEDULED, True), (VisitStatus.DONE, False), (VisitStatus.CANCELLED, False)],
)
def test_a_task_can_be_done_while_its_visit_lies_ahead(status, pending):
    task = VisitTaskFactory(visit=VisitFactory(status=status))

    assert task_line(task).is_pending is pending
