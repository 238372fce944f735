"""How a day went: not done, part done, hours, and what is left of the work."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from core.calc.paving import CleaningMethod
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services.records import void_record
from maintenance.models import Recommendation
from maintenance.selectors.care import offered_terms
from maintenance.services import cleanings
from maintenance.services.cleanings import terms_of
from planning.calc.vocabulary import TaskOutcome, TestsBeside, VisitStatus
from planning.models import CrewMethod, Visit, VisitTask
from planning.selectors.outputs import planned_min
from planning.selectors.todo import left_over
from planning.selectors.visits import tasks_of
from planning.selectors.work_orders import Period, asks
from planning.selectors.work_problem import gather
from planning.services import crews, day_end, matching, visits
from planning.services.day_end import Told
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InspectionFindingFactory,
    RecommendationFactory,
    RoundFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOT_DONE = TaskOutcome.NOT_DONE


@pytest.fixture
def visit(firm):
    return VisitFactory(crew=CrewFactory(organisation=firm.organisation), visit_on=TODAY)


def task_on(visit, surface, **values):
    return VisitTaskFactory(
        visit=visit, surface=surface, **({"action": "clean", "method": "vacuum"} | values)
    )


def advised_task(firm, visit):
    row = RecommendationFactory(surface=firm.surface, status="planned")
    return task_on(visit, firm.surface, recommendation=row)


def cleaned(task, share=1.0):
    """The task with the record of its cleaning."""
    event = CleaningFactory(surface=task.surface, cleaned_on=task.visit.visit_on, share_of_area=share)
    assert matching.match_records_to_tasks(surface=task.surface) == 1
    task.refresh_from_db()
    return task, event


def tell(visit, task, outcome=None, reason="", taken_min=None):
    return day_end.tell_day(visit=visit, told=[Told(task, outcome, reason, taken_min)])


def test_what_was_not_done_ends_with_its_reason_and_its_advice_is_looked_at_anew(firm, visit):
    task = advised_task(firm, visit)
    other = task_on(visit, firm.surface, action="inspect", method="")
    version = firm.surface.record_version

    tell(visit, task, NOT_DONE, "Cars stood on it.")

    task.refresh_from_db()
    firm.surface.refresh_from_db()
    assert (task.outcome, task.outcome_reason, task.has_ended, task.is_done) == (
        "not_done",
        "Cars stood on it.",
        True,
        False,
    )
    assert task.recommendation.status == "overtaken"
    assert firm.surface.record_version > version  # so that the forecast, and advice with it, is made anew
    assert not VisitTask.objects.get(pk=other.pk).has_ended


def test_a_visit_on_which_nothing_could_be_done_is_called_off_with_why(firm, visit):
    task = task_on(visit, firm.surface)

    tell(visit, task, NOT_DONE, "Rain.")

    visit.refresh_from_db()
    assert (visit.status, visit.cancel_reason) == (VisitStatus.CANCELLED, "Nothing could be done: Rain.")


def test_a_visit_on_which_something_was_done_is_done(firm, visit):
    task = task_on(visit, firm.surface)
    other = task_on(visit, firm.surface, action="look", method="")
    visits.finish_task(task=other, finding="Sound.")

    tell(visit, task, NOT_DONE, "Rain.")

    visit.refresh_from_db()
    assert visit.status == VisitStatus.DONE


@pytest.mark.parametrize("outcome", [TaskOutcome.NOT_DONE, TaskOutcome.GIVEN_UP])
def test_why_it_was_not_done_must_be_said(firm, visit, outcome):
    task = task_on(visit, firm.surface)

    with pytest.raises(ValidationError, match="Say why"):
        tell(visit, task, outcome, "  ")

    assert not VisitTask.objects.get(pk=task.pk).has_ended


@pytest.mark.parametrize("outcome", [TaskOutcome.DONE, TaskOutcome.PART])
def test_nothing_is_called_done_without_its_record(firm, visit, outcome):
    task = task_on(visit, firm.surface)

    with pytest.raises(ValidationError, match="done by its record"):
        tell(visit, task, outcome, "Half of it.")


def test_what_has_its_record_cannot_be_told_as_not_done(firm, visit):
    task, _ = cleaned(task_on(visit, firm.surface))

    with pytest.raises(ValidationError, match="has its record"):
        tell(visit, task, NOT_DONE, "Rain.")


def test_one_refused_task_stores_nothing_of_the_others(firm, visit):
    task = task_on(visit, firm.surface)
    other = task_on(visit, firm.surface, action="inspect", method="")

    with pytest.raises(ValidationError):
        day_end.tell_day(
            visit=visit, told=[Told(task, NOT_DONE, "Rain."), Told(other, TaskOutcome.PART, "Half.")]
        )

    assert not VisitTask.objects.filter(ended_at__isnull=False).exists()


def test_a_visit_called_off_meanwhile_takes_no_word_of_its_tasks(firm, visit):
    task = task_on(visit, firm.surface)
    visits.cancel_visit(visit=visit, reason="Storm.")

    with pytest.raises(NotAllowedNowError, match="called off"):
        tell(visit, task, NOT_DONE, "Rain.")


def test_a_task_taken_off_meanwhile_is_named(firm, visit):
    task = task_on(visit, firm.surface)
    visits.remove_task(task=VisitTask.objects.get(pk=task.pk))

    with pytest.raises(NotAllowedNowError, match="taken off the visit meanwhile"):
        tell(visit, task, NOT_DONE, "Rain.")


def test_telling_the_same_twice_changes_nothing(firm, visit):
    task = advised_task(firm, visit)
    task_on(visit, firm.surface, action="inspect", method="")
    tell(visit, task, NOT_DONE, "Rain.")
    ended_at = VisitTask.objects.get(pk=task.pk).ended_at

    tell(visit, task, NOT_DONE, "Rain.")

    assert VisitTask.objects.get(pk=task.pk).ended_at == ended_at


def test_a_finding_that_was_not_corrected_is_to_be_planned_again(firm, visit):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    task = task_on(visit, firm.surface, action="repair", method="", inspection_finding=finding)

    tell(visit, task, NOT_DONE, "No stone left.")

    again = visits.plan_finding(finding=finding, by=firm.coordinator, visit_on=TODAY + DAY, crew=visit.crew)
    assert again.tasks.get().inspection_finding == finding


def test_a_cleaning_of_a_part_does_a_part_and_its_advice_is_looked_at_anew(firm, visit):
    task, _ = cleaned(advised_task(firm, visit), share=0.6)

    assert (task.outcome, task.outcome_reason) == ("part", "60\u00a0% of the area was done")
    assert task.is_done
    assert Recommendation.objects.get().status == "overtaken"


def test_a_cleaning_of_all_of_it_answers_its_advice(firm, visit):
    task, _ = cleaned(advised_task(firm, visit))

    assert (task.outcome, task.outcome_reason) == ("done", "")
    assert Recommendation.objects.get().status == "done"


def test_a_corrected_share_corrects_how_the_task_ended(firm, visit):
    task, event = cleaned(task_on(visit, firm.surface), share=0.5)
    new = CleaningFactory.build(surface=firm.surface, cleaned_on=TODAY, share_of_area=1.0)

    cleanings.correct_cleaning(old=event, new=new, by=firm.coordinator, reason="All of it.")

    task.refresh_from_db()
    assert (task.outcome, task.outcome_reason, task.cleaning) == ("done", "", new)


def test_what_a_person_told_outlives_a_correction_of_the_record(firm, visit):
    task, event = cleaned(task_on(visit, firm.surface))
    tell(visit, task, TaskOutcome.PART, "The ramp is left.")
    new = CleaningFactory.build(surface=firm.surface, cleaned_on=TODAY, note="Dusty.")

    cleanings.correct_cleaning(old=event, new=new, by=firm.coordinator, reason="A note.")

    task.refresh_from_db()
    assert (task.outcome, task.outcome_reason) == ("part", "The ramp is left.")


def listed(firm):
    return list(left_over(firm.coordinator, firm.organisation))


def test_what_is_left_of_a_task_added_by_hand_stands_on_the_first_page_until_it_is_planned(firm, visit):
    task = task_on(visit, firm.surface)
    tell(visit, task, NOT_DONE, "Rain.")
    assert listed(firm) == [task]

    again = day_end.plan_left(task=task, by=firm.coordinator, visit_on=TODAY + DAY, crew=visit.crew)

    follower = again.tasks.get()
    assert (follower.action, follower.method, follower.follows) == ("clean", "vacuum", task)
    assert listed(firm) == []


def test_what_was_planned_again_and_taken_off_is_left_over_again(firm, visit):
    task = task_on(visit, firm.surface)
    tell(visit, task, NOT_DONE, "Rain.")
    again = day_end.plan_left(task=task, by=firm.coordinator, visit_on=TODAY + DAY, crew=visit.crew)

    visits.remove_task(task=again.tasks.get())

    assert listed(firm) == [task]


def test_a_repeat_of_the_sending_plans_the_rest_once(firm, visit):
    task, sent = task_on(visit, firm.surface), uuid4()
    tell(visit, task, NOT_DONE, "Rain.")
    trip = {"by": firm.coordinator, "visit_on": TODAY + DAY, "crew": visit.crew, "device_id": sent}

    found = [day_end.plan_left(task=task, **trip) for _ in range(2)]

    assert found[0] == found[1]
    assert task.followed_by.count() == 1


def test_what_is_left_can_be_given_up_with_why(firm, visit):
    task = task_on(visit, firm.surface)
    tell(visit, task, NOT_DONE, "Rain.")

    day_end.give_up_left(task=task, reason="Sold.")

    task.refresh_from_db()
    assert (task.outcome, task.outcome_reason) == ("given_up", "Rain.; Sold.")
    assert listed(firm) == []


@pytest.mark.parametrize("advised", [True, False])
def test_nothing_is_left_of_what_returns_by_itself_or_was_done(firm, visit, advised):
    task = advised_task(firm, visit) if advised else cleaned(task_on(visit, firm.surface))[0]
    if advised:
        tell(visit, task, NOT_DONE, "Rain.")
    assert listed(firm) == []

    with pytest.raises(NotAllowedNowError, match="nothing left"):
        day_end.plan_left(task=task, by=firm.coordinator, visit_on=TODAY + DAY, crew=visit.crew)
    with pytest.raises(NotAllowedNowError, match="nothing left"):
        day_end.give_up_left(task=task, reason="Sold.")


def test_the_test_after_a_cleaning_is_planned_once_from_its_task(firm, visit):
    task, _ = cleaned(task_on(visit, firm.surface))
    trip = {"by": firm.coordinator, "visit_on": TODAY + 7 * DAY, "crew": visit.crew}

    later = day_end.plan_test_after(task=task, **trip)

    assert (later.tasks.get().action, later.tasks.get().follows) == ("test", task)
    with pytest.raises(AlreadyDoneError, match="on a visit already"):
        day_end.plan_test_after(task=task, **trip)


def test_without_a_cleaning_there_is_no_test_after_it(firm, visit):
    with pytest.raises(NotAllowedNowError, match="no cleaning on record"):
        day_end.plan_test_after(
            task=task_on(visit, firm.surface), by=firm.coordinator, visit_on=TODAY, crew=visit.crew
        )


def test_no_test_is_offered_after_a_cleaning_that_was_set_aside(firm, visit):
    task, event = cleaned(task_on(visit, firm.surface))
    cleanings.void_cleaning(event=event, by=firm.admin, reason="Another surface.")
    task.refresh_from_db()

    assert [row.wants_test for row in tasks_of(visit)] == [False]
    with pytest.raises(NotAllowedNowError, match="no cleaning on record"):
        day_end.plan_test_after(task=task, by=firm.coordinator, visit_on=TODAY, crew=visit.crew)


@pytest.mark.parametrize(
    ("days", "purpose", "tested"),
    [
        (1, "routine", True),
        (0, "after_cleaning", True),
        (0, "before_cleaning", False),
        (-1, "routine", False),
    ],
)
def test_a_round_since_the_cleaning_tells_that_it_was_tested(firm, visit, days, purpose, tested):
    task, _ = cleaned(task_on(visit, firm.surface))
    RoundFactory(surface=firm.surface, tested_on=TODAY + days * DAY, purpose=purpose)

    assert [(row.task, row.wants_test) for row in tasks_of(visit)] == [(task, not tested)]


def test_hours_are_kept_with_what_was_done(firm, visit):
    task, _ = cleaned(task_on(visit, firm.surface))

    tell(visit, task, taken_min=150)

    task.refresh_from_db()
    assert task.taken_min == 150


def test_hours_of_what_is_still_to_do_are_refused(firm, visit):
    with pytest.raises(ValidationError, match="still to do"):
        tell(visit, task_on(visit, firm.surface), taken_min=30)


def learnt(crew):
    return crews.outputs_now(crew.organisation)[crew.pk, CleaningMethod.VACUUM]


def test_hours_told_feed_the_output_that_plans_count_with(firm):
    crew = CrewFactory(organisation=firm.organisation)
    CrewMethod.objects.create(crew=crew, method="vacuum", output_m2_h=400.0)
    for number in range(4):
        surface = SurfaceFactory(site=firm.site, area_m2=200.0)
        visit = VisitFactory(crew=crew, visit_on=TODAY - number * DAY)
        task, _ = cleaned(task_on(visit, surface, recommendation=None))
        tell(Visit.objects.get(pk=visit.pk), task, taken_min=135)

    assert learnt(crew).m2_h == pytest.approx((400.0 * 100.0) ** 0.5)
    fresh = VisitTaskFactory.build(
        visit=VisitFactory.build(crew=crew),
        surface=SurfaceFactory(site=firm.site, area_m2=400.0),
        action="clean",
        method="vacuum",
    )
    assert planned_min(fresh, crews.outputs_now(firm.organisation)) == 15 + 120


def test_a_crew_is_not_planned_with_what_it_is_not_equipped_for(firm):
    crew = CrewFactory(organisation=firm.organisation)
    CrewMethod.objects.create(crew=crew, method="wash_vacuum")

    assert (crew.pk, CleaningMethod.VACUUM) not in crews.outputs_now(firm.organisation)


def test_a_plan_takes_up_what_visits_left_to_do(firm, visit):
    """The plan is made in the test's own process; what it finds to do is what it would put on days."""
    task = task_on(visit, firm.surface)
    tell(visit, task, NOT_DONE, "Rain.")
    period = Period(TODAY + DAY, 14, TODAY)

    wanted, _ = asks(firm.organisation, period, TestsBeside.ADVISED)
    assert f"rest {task.pk}" in {ask.key for ask in wanted}

    day_end.plan_left(task=task, by=firm.coordinator, visit_on=TODAY + DAY, crew=visit.crew)
    wanted, _ = asks(firm.organisation, period, TestsBeside.ADVISED)
    assert f"rest {task.pk}" not in {ask.key for ask in wanted}


def test_a_plan_counts_with_the_output_that_was_learnt(firm):
    crew = CrewFactory(organisation=firm.organisation)
    CrewMethod.objects.create(crew=crew, method="vacuum", output_m2_h=400.0)
    for number in range(4):
        past = VisitFactory(crew=crew, visit_on=TODAY - number * DAY)
        done, _ = cleaned(task_on(past, SurfaceFactory(site=firm.site, area_m2=200.0)))
        tell(Visit.objects.get(pk=past.pk), done, taken_min=135)
    firm.surface.area_m2 = 600.0
    firm.surface.save()
    left = task_on(VisitFactory(crew=crew, visit_on=TODAY), firm.surface)
    tell(left.visit, left, NOT_DONE, "Rain.")

    gathered = gather(firm.organisation, offered_terms(terms_of(firm.organisation)), Period(TODAY, 14, TODAY))

    minutes = gathered.problem.by_key[f"rest {left.pk}"].minutes[0]
    assert minutes == 15 + 180  # by hand: 600 m² at 200 m²/h, the mean of 400 and 100 by their logarithms


def test_a_reason_is_told_of_what_the_record_left_and_can_be_told_anew(firm, visit):
    task, _ = cleaned(task_on(visit, firm.surface), share=0.6)

    for words in ("The ramp is left.", "The ramp and the gate are left."):
        tell(visit, task, TaskOutcome.PART, words)
        task.refresh_from_db()
        assert (task.outcome, task.outcome_reason) == ("part", words)


def test_what_was_planned_again_on_a_visit_that_was_called_off_is_left_over_again(firm, visit):
    task = task_on(visit, firm.surface)
    tell(visit, task, NOT_DONE, "Rain.")
    again = day_end.plan_left(task=task, by=firm.coordinator, visit_on=TODAY + DAY, crew=visit.crew)

    visits.cancel_visit(visit=again, reason="Frost.")

    assert listed(firm) == [task]
    assert [row.is_left_over for row in tasks_of(visit)] == [True]


@pytest.mark.parametrize("how", ["called off", "not done"])
def test_a_test_after_a_cleaning_that_came_to_nothing_is_offered_again(firm, visit, how):
    task, _ = cleaned(task_on(visit, firm.surface))
    trip = {"by": firm.coordinator, "visit_on": TODAY + 7 * DAY, "crew": visit.crew}
    later = day_end.plan_test_after(task=task, **trip)
    assert [row.wants_test for row in tasks_of(visit)] == [False]
    if how == "called off":
        visits.cancel_visit(visit=later, reason="Frost.")
    else:
        tell(later, later.tasks.get(), NOT_DONE, "Rain.")

    assert [row.wants_test for row in tasks_of(visit)] == [True]
    again = day_end.plan_test_after(task=task, **trip | {"visit_on": TODAY + 9 * DAY})
    assert again != later


def test_a_cleaning_that_was_set_aside_teaches_nothing(firm):
    crew = CrewFactory(organisation=firm.organisation)
    for number in range(4):
        past = VisitFactory(crew=crew, visit_on=TODAY - number * DAY)
        task, event = cleaned(task_on(past, SurfaceFactory(site=firm.site, area_m2=200.0)))
        tell(Visit.objects.get(pk=past.pk), task, taken_min=135)
        if number:
            void_record(fact=event, by=firm.coordinator, reason="Another surface.")

    assert learnt(crew).jobs == 1
