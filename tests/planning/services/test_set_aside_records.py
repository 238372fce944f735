"""A task whose record turned out to be wrong: told as not done once that record is set aside, and not before."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from core.services.records import void_record
from maintenance.services.cleanings import correct_cleaning, void_cleaning
from planning.calc.vocabulary import TaskOutcome, VisitStatus
from planning.forms.day_end import TaskToldForm
from planning.models import VisitTask
from planning.selectors.todo import left_over
from planning.services import day_end, visits
from planning.services.day_end import Told
from qa.services.inspections import void_inspection, void_source_change
from qa.services.rounds import void_round
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InspectionFactory,
    RecommendationFactory,
    RoundFactory,
    SourceChangeFactory,
    VisitFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db
WHY = "The other yard was swept."


@pytest.fixture
def visit(firm):
    return VisitFactory(crew=CrewFactory(organisation=firm.organisation), visit_on=TODAY)


def proved_by(firm, visit, action, made, set_aside, name):
    """A task, its record, and how that is set aside."""
    method = "vacuum" if action == "clean" else ""
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action=action, method=method)
    record = made(surface=firm.surface)
    task = visits.finish_task(task=task, **{name: record})
    return task, lambda: set_aside(record, firm.coordinator)


KINDS = {
    "cleaning": ("clean", CleaningFactory, lambda row, by: void_cleaning(event=row, by=by, reason=WHY)),
    "round_": ("test", RoundFactory, lambda row, by: void_round(round_=row, by=by, reason=WHY)),
    "inspection": (
        "inspect",
        InspectionFactory,
        lambda row, by: void_inspection(inspection=row, by=by, reason=WHY),
    ),
    "source_change": (
        "source",
        SourceChangeFactory,
        lambda row, by: void_source_change(change=row, by=by, reason=WHY),
    ),
}


def tell(visit, task, outcome, reason=WHY):
    task.refresh_from_db()
    return day_end.tell_day(visit=visit, told=[Told(task, outcome, reason)])


def choices(task):
    """What the page offers to say of the task."""
    task = VisitTask.objects.get(pk=task.pk)
    return [value for value, _ in TaskToldForm(task=task).fields["outcome"].choices]


@pytest.mark.parametrize("name", KINDS)
def test_what_is_proved_is_told_as_not_done_once_its_record_is_set_aside(firm, visit, name):
    task, set_aside = proved_by(firm, visit, *KINDS[name], name)
    with pytest.raises(ValidationError, match="Set the record aside where it is wrong"):
        tell(visit, task, TaskOutcome.NOT_DONE)

    set_aside()
    tell(visit, task, TaskOutcome.NOT_DONE)

    task.refresh_from_db()
    assert (task.outcome, task.outcome_reason) == (TaskOutcome.NOT_DONE, WHY)
    assert task in left_over(firm.coordinator, firm.organisation)


@pytest.mark.parametrize("name", KINDS)
def test_the_page_offers_not_done_once_the_record_is_set_aside(firm, visit, name):
    task, set_aside = proved_by(firm, visit, *KINDS[name], name)
    before = choices(task)

    set_aside()

    assert before == ["done", "part"]
    assert choices(task) == ["done", "part", "not_done"]


def test_the_advice_behind_it_is_looked_at_anew(firm, visit):
    advice = RecommendationFactory(surface=firm.surface, status="planned")
    task = VisitTaskFactory(
        visit=visit, surface=firm.surface, action="clean", method="vacuum", recommendation=advice
    )
    event = CleaningFactory(surface=firm.surface)
    visits.finish_task(task=task, cleaning=event)
    void_cleaning(event=event, by=firm.coordinator, reason=WHY)
    firm.surface.refresh_from_db()
    version = firm.surface.record_version

    tell(visit, task, TaskOutcome.NOT_DONE)

    firm.surface.refresh_from_db()
    assert firm.surface.record_version > version


def test_a_record_that_was_corrected_still_proves_the_task(firm, visit):
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action="clean", method="vacuum")
    old = CleaningFactory(surface=firm.surface)
    visits.finish_task(task=task, cleaning=old)
    new = CleaningFactory.build(surface=firm.surface, cleaned_on=old.cleaned_on, method="broom")
    correct_cleaning(old=old, new=new, by=firm.coordinator, reason="It was the broom.")

    with pytest.raises(ValidationError, match="has its record"):
        tell(visit, task, TaskOutcome.NOT_DONE)

    assert choices(task) == ["done", "part"]


def test_what_was_found_in_words_proves_itself(firm, visit):
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action="source", method="")
    visits.finish_task(task=task, finding="Nothing was found.")

    with pytest.raises(ValidationError, match="has its record"):
        tell(visit, task, TaskOutcome.NOT_DONE)

    assert choices(task) == ["done", "part"]


def test_it_needs_its_reason_as_any_other(firm, visit):
    task, set_aside = proved_by(firm, visit, *KINDS["cleaning"], "cleaning")
    set_aside()

    with pytest.raises(ValidationError, match="Say why"):
        tell(visit, task, TaskOutcome.NOT_DONE, "  ")

    task.refresh_from_db()
    assert task.outcome == TaskOutcome.DONE


def test_it_can_be_planned_again_and_then_stands_on_the_other_visit(firm, visit):
    task, set_aside = proved_by(firm, visit, *KINDS["cleaning"], "cleaning")
    set_aside()
    tell(visit, task, TaskOutcome.NOT_DONE)

    other = day_end.plan_left(
        task=task, by=firm.coordinator, visit_on=TODAY, crew=CrewFactory(organisation=firm.organisation)
    )

    assert other.tasks.get().follows == task
    assert not left_over(firm.coordinator, firm.organisation).exists()


def test_a_visit_that_was_called_done_stays_as_it_went(firm, visit):
    """The crew was there: calendars and mails keep the day."""
    task, set_aside = proved_by(firm, visit, *KINDS["cleaning"], "cleaning")
    visit.refresh_from_db()
    assert visit.status == VisitStatus.DONE
    set_aside()

    tell(visit, task, TaskOutcome.NOT_DONE)

    visit.refresh_from_db()
    assert visit.status == VisitStatus.DONE


def test_a_crew_says_so_on_the_page_of_its_day(client, firm, visit):
    task, set_aside = proved_by(firm, visit, *KINDS["round_"], "round_")
    set_aside()
    client.force_login(firm.technician)
    key = f"task-{task.pk}"

    answer = client.post(
        reverse("planning:visit-tell", args=[visit.pk]),
        {f"{key}-outcome": "not_done", f"{key}-reason": WHY},
    )

    assert answer.status_code == 302
    assert WHY in client.get(answer.url).content.decode()


def test_the_page_reads_as_many_rows_for_six_proved_tasks_as_for_one(
    client, firm, visit, django_assert_max_num_queries
):
    client.force_login(firm.technician)
    url = reverse("planning:visit-tell", args=[visit.pk])
    proved_by(firm, visit, *KINDS["round_"], "round_")
    with django_assert_max_num_queries(200) as one:
        client.get(url)

    for name in ("cleaning", "inspection", "source_change", "round_", "cleaning"):
        proved_by(firm, visit, *KINDS[name], name)

    with django_assert_max_num_queries(len(one)):
        client.get(url)


def test_a_task_is_disproved_by_nothing_but_its_own_record(firm, visit):
    task, _ = proved_by(firm, visit, *KINDS["cleaning"], "cleaning")
    other = CleaningFactory(surface=firm.surface)

    void_record(fact=other, by=firm.coordinator, reason=WHY)

    task.refresh_from_db()
    assert not task.is_disproved
