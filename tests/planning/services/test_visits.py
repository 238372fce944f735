"""Visits: planning, doing, calling off, and settling by what was recorded."""

from datetime import datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from core.calc.format import day as day_words
from core.errors import AlreadyDoneError, NotAllowedNowError
from maintenance.models import Recommendation
from maintenance.services import recommendations
from planning.calc.vocabulary import VisitStatus
from planning.models import Visit, VisitTask
from planning.services import matching, visits
from qa.models import Surface
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    RoundFactory,
    SurfaceFactory,
    UserFactory,
    VisitFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def advice_for(surface, action="clean", method="vacuum", **changes):
    values = {"due_on": TODAY, "earliest_on": TODAY, "currency": "EUR", "grounds": BECAUSE}
    return Recommendation.objects.create(surface=surface, action=action, method=method, **values | changes)


def plan(row, crew=None, **changes):
    crew = crew or CrewFactory(organisation=row.surface.organisation)
    values = {"by": UserFactory(), "visit_on": TODAY + 7 * DAY, "crew": crew}
    return visits.plan(recommendation=row, **values | changes)


def planned_task(surface, visit_on, planned_on, action="test"):
    """A task on a visit of a day, put there on an earlier day."""
    visit = VisitFactory(crew=CrewFactory(organisation=surface.organisation), visit_on=visit_on)
    task = VisitTaskFactory(visit=visit, surface=surface, action=action)
    at = datetime.combine(planned_on, datetime.min.time(), tzinfo=timezone.get_current_timezone())
    VisitTask.objects.filter(pk=task.pk).update(created_at=at)
    return task


def test_planned_advice_becomes_a_task_of_the_crews_visit():
    row = advice_for(SurfaceFactory())

    visit = plan(row)

    row.refresh_from_db()
    task = visit.tasks.get()
    assert (task.surface, task.action, task.method, task.recommendation) == (
        row.surface,
        "clean",
        "vacuum",
        row,
    )
    assert (row.status, row.planned_method) == ("planned", "")


def test_a_second_piece_of_advice_joins_the_crews_visit_of_that_day():
    row = advice_for(SurfaceFactory())
    crew = CrewFactory(organisation=row.surface.organisation)
    other = advice_for(SurfaceFactory(site=row.surface.site))
    first = plan(row, crew)

    second = plan(other, crew)

    assert second == first
    assert first.tasks.count() == 2


def test_a_visit_called_off_is_not_joined():
    row = advice_for(SurfaceFactory())
    crew = CrewFactory(organisation=row.surface.organisation)
    off = VisitFactory(crew=crew, visit_on=TODAY + 7 * DAY, status=VisitStatus.CANCELLED)

    assert plan(row, crew) != off


def test_another_method_than_advised_needs_a_reason():
    row = advice_for(SurfaceFactory())

    with pytest.raises(ValidationError) as refusal:
        plan(row, method="broom")

    assert "reason" in refusal.value.error_dict
    row.refresh_from_db()
    assert row.status == "open"
    assert not Visit.objects.exists()


def test_another_method_leaves_what_was_advised_readable():
    row = advice_for(SurfaceFactory())

    visit = plan(row, method="broom", reason="Leaves only.")

    row.refresh_from_db()
    assert visit.tasks.get().method == "broom"
    assert (row.method, row.planned_method, row.decision_reason) == (
        "vacuum",
        "broom",
        "Leaves only.",
    )


@pytest.mark.parametrize("with_visit_there", [False, True])
def test_nothing_is_planned_into_the_past(with_visit_there):
    row = advice_for(SurfaceFactory())
    crew = CrewFactory(organisation=row.surface.organisation)
    if with_visit_there:
        VisitFactory(crew=crew, visit_on=TODAY - 3 * DAY)

    with pytest.raises(ValidationError, match=day_words(TODAY - 3 * DAY).replace("\xa0", ".*")):
        plan(row, crew, visit_on=TODAY - 3 * DAY)


@pytest.mark.parametrize("hour", [0, 11, 12, 23])
def test_today_at_the_site_can_be_planned_wherever_the_site_is(monkeypatch, hour):
    """West of Greenwich it is still yesterday for a part of the UTC day."""
    at = datetime(2026, 6, 10, hour, 30, tzinfo=timezone.get_fixed_timezone(0))
    monkeypatch.setattr(visits, "now", lambda: at)
    surface = SurfaceFactory(site__time_zone="Pacific/Pago_Pago")

    visit = plan(advice_for(surface), visit_on=surface.site.today(at))

    assert visit.visit_on == surface.site.today(at)


def test_a_crew_of_another_firm_is_refused():
    with pytest.raises(ValidationError, match="belongs to another firm"):
        plan(advice_for(SurfaceFactory()), CrewFactory())


def test_advice_is_decided_once():
    """Two coordinators have the page open; the second one is told."""
    row = advice_for(SurfaceFactory())
    second_copy = Recommendation.objects.get(pk=row.pk)
    recommendations.decline(recommendation=row, by=UserFactory(), reason="Next year.")

    with pytest.raises(AlreadyDoneError, match="already declined"):
        plan(second_copy)

    assert not VisitTask.objects.exists()


def test_declining_keeps_who_and_why():
    row, user = advice_for(SurfaceFactory()), UserFactory()

    recommendations.decline(recommendation=row, by=user, reason=" Next year. ")

    row.refresh_from_db()
    assert (row.status, row.decided_by, row.decision_reason) == ("declined", user, "Next year.")


def test_declining_without_a_reason_is_refused():
    with pytest.raises(ValidationError, match="Say why"):
        recommendations.decline(recommendation=advice_for(SurfaceFactory()), by=UserFactory(), reason=" ")


def test_a_visit_called_off_has_its_surfaces_thought_through_again():
    row = advice_for(SurfaceFactory())
    visit = plan(row)
    before = Surface.objects.get(pk=row.surface_id).record_version

    visits.cancel_visit(visit=visit, reason="Rain.")

    row.refresh_from_db()
    visit.refresh_from_db()
    assert (visit.status, visit.cancel_reason, row.status) == ("cancelled", "Rain.", "overtaken")
    assert Surface.objects.get(pk=row.surface_id).record_version == before + 1


def test_a_visit_is_called_off_once():
    visit = VisitFactory()
    visits.cancel_visit(visit=visit, reason="Rain.")

    with pytest.raises(NotAllowedNowError, match="This visit is cancelled"):
        visits.cancel_visit(visit=visit, reason="Rain again.")


def test_a_closed_visit_takes_no_task():
    visit = VisitFactory(status=VisitStatus.DONE)
    surface = SurfaceFactory(site__owner__organisation=visit.organisation)

    with pytest.raises(NotAllowedNowError, match="This visit is done"):
        visits.add_task(visit=visit, surface=surface, action="test")


def test_a_surface_of_another_firm_is_refused():
    with pytest.raises(ValidationError, match="belongs to another firm"):
        visits.add_task(visit=VisitFactory(), surface=SurfaceFactory(), action="test")


def test_the_same_task_is_put_on_a_visit_once():
    task = VisitTaskFactory()

    with pytest.raises(ValidationError, match="already has that task"):
        visits.add_task(visit=task.visit, surface=task.surface, action="test")


def test_the_last_finding_ends_the_visit():
    first = VisitTaskFactory(action="look")
    last = VisitTaskFactory(visit=first.visit, surface=first.surface, action="test")
    visits.finish_task(task=first, finding="Roots.")
    first.visit.refresh_from_db()
    in_between = first.visit.status

    visits.finish_task(task=last, finding="Not needed.")

    first.visit.refresh_from_db()
    assert (in_between, first.visit.status) == ("scheduled", "done")


def test_a_finished_task_closes_its_advice():
    row = advice_for(SurfaceFactory(), action="look", method="")
    visit = plan(row)

    visits.finish_task(task=visit.tasks.get(), finding="Roots lift the edge; the gardener cuts them.")

    row.refresh_from_db()
    assert row.status == "done"


def test_a_task_ends_with_something():
    with pytest.raises(ValidationError, match="Say what was found"):
        visits.finish_task(task=VisitTaskFactory(action="look"), finding="  ")


def test_a_task_of_a_visit_called_off_cannot_be_finished():
    task = VisitTaskFactory(visit__status=VisitStatus.CANCELLED, action="look")

    with pytest.raises(NotAllowedNowError, match="This visit is cancelled"):
        visits.finish_task(task=task, finding="Roots.")


def test_taking_the_last_open_task_off_ends_the_visit_too():
    done = VisitTaskFactory(action="look")
    left = VisitTaskFactory(visit=done.visit, surface=done.surface, action="test")
    visits.finish_task(task=done, finding="Roots.")

    visits.remove_task(task=left)

    done.visit.refresh_from_db()
    assert done.visit.status == "done"


def test_a_visit_from_which_everything_was_taken_stays():
    task = VisitTaskFactory()

    visits.remove_task(task=task)

    task.visit.refresh_from_db()
    assert task.visit.status == "scheduled"


def test_a_done_task_stays_on_the_visit():
    """Somebody finished it while the page with the button was open."""
    task = VisitTaskFactory(action="look")
    old_copy = VisitTask.objects.get(pk=task.pk)
    visits.finish_task(task=task, finding="Roots.")

    with pytest.raises(NotAllowedNowError, match="ended already"):
        visits.remove_task(task=old_copy)


@pytest.mark.parametrize(("off_days", "settled"), [(-15, 0), (-14, 1), (0, 1), (14, 1), (15, 0)])
def test_a_round_within_a_fortnight_of_the_visit_settles_its_task(off_days, settled):
    surface = SurfaceFactory()
    visit_on = TODAY - 20 * DAY
    task = planned_task(surface, visit_on, planned_on=TODAY - 60 * DAY)
    round_ = RoundFactory(surface=surface, tested_on=visit_on + off_days * DAY)
    InfiltrationTestFactory(round=round_)

    count = matching.match_records_to_tasks(surface=surface)

    task.refresh_from_db()
    assert (count, task.round) == (settled, round_ if settled else None)


def test_what_was_recorded_before_anybody_planned_settles_nothing():
    """The test of last week led to the plan; it is not what was planned."""
    surface = SurfaceFactory()
    planned_task(surface, TODAY + 5 * DAY, planned_on=TODAY)
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=TODAY - 7 * DAY))

    assert matching.match_records_to_tasks(surface=surface) == 0


def test_a_round_without_tests_settles_nothing():
    surface = SurfaceFactory()
    planned_task(surface, TODAY, planned_on=TODAY - 30 * DAY)
    RoundFactory(surface=surface, tested_on=TODAY)

    assert matching.match_records_to_tasks(surface=surface) == 0


def test_one_record_settles_one_task():
    surface = SurfaceFactory()
    first = planned_task(surface, TODAY - DAY, TODAY - 30 * DAY, action="clean")
    second = planned_task(surface, TODAY + 5 * DAY, TODAY - 30 * DAY, action="clean")
    event = CleaningFactory(surface=surface, cleaned_on=TODAY)

    count = matching.match_records_to_tasks(surface=surface)

    first.refresh_from_db()
    second.refresh_from_db()
    assert (count, first.cleaning, second.is_done) == (1, event, False)


@pytest.mark.parametrize(("record", "action"), [("test", "clean"), ("cleaning", "test")])
def test_a_record_of_the_other_kind_settles_nothing(record, action):
    surface = SurfaceFactory()
    planned_task(surface, TODAY, TODAY - 30 * DAY, action=action)
    if record == "test":
        InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=TODAY))
    else:
        CleaningFactory(surface=surface, cleaned_on=TODAY)

    assert matching.match_records_to_tasks(surface=surface) == 0


def test_an_edit_does_not_bring_back_a_visit_called_off_meanwhile():
    open_copy = VisitFactory(visit_on=TODAY + DAY)
    visits.cancel_visit(visit=open_copy, reason="Rain.")
    open_copy.note = "Bring the large ring."

    with pytest.raises(NotAllowedNowError, match="cancelled"):
        visits.save_visit(visit=open_copy)

    stored = Visit.objects.get(pk=open_copy.pk)
    assert (stored.status, stored.note) == (VisitStatus.CANCELLED, "")


def test_no_task_is_added_to_a_visit_called_off_meanwhile():
    open_copy = VisitFactory(visit_on=TODAY + DAY)
    visits.cancel_visit(visit=open_copy, reason="Rain.")
    surface = SurfaceFactory(site__organisation=open_copy.organisation)

    with pytest.raises(NotAllowedNowError, match="cancelled"):
        visits.add_task(visit=open_copy, surface=surface, action="test")


def test_an_edit_writes_only_what_its_form_holds():
    mine = VisitFactory(visit_on=TODAY + DAY)
    Visit.objects.filter(pk=mine.pk).update(cancel_reason="kept by somebody else")
    mine.note = "Bring the large ring."

    visits.save_visit(visit=mine)

    mine.refresh_from_db()
    assert (mine.note, mine.cancel_reason) == ("Bring the large ring.", "kept by somebody else")


def test_a_cleaning_recorded_from_a_visit_leads_back_to_it(client, firm):
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation))
    client.force_login(firm.technician)
    url = reverse("maintenance:cleaning-create", args=[firm.surface.pk])
    data = {"cleaned_on": TODAY.isoformat(), "method": "vacuum", "share_of_area": "1", "wetness": "dry"}

    back = client.post(f"{url}?next={visit.get_absolute_url()}", data)
    elsewhere = client.post(f"{url}?next=https://example.org/", data | {"method": "broom"})

    assert back.url == visit.get_absolute_url()
    assert elsewhere.url == firm.surface.get_absolute_url()
