"""A day nobody can work: what stands on it moves as it was shown, or not at all."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from core.calc.format import day
from core.calc.weekdays import Weekdays
from core.errors import NotAllowedNowError
from planning.calc.vocabulary import TaskOutcome
from planning.models import CrewAbsence, Visit, VisitTask
from planning.selectors.postponing import movings
from planning.services import day_end, visits
from planning.services.crews import outputs_now
from planning.services.postponing import mark_unworkable
from qa.models import Site
from tests.clock import TODAY
from tests.factories import CrewFactory, SurfaceFactory, VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def crew(firm):
    crew = CrewFactory(organisation=firm.organisation)
    crew.weekdays = Weekdays((1, 2, 3, 4, 5, 6, 7))
    crew.save()
    return crew


def visit_with(crew, surface, on=TODAY, **values):
    visit = VisitFactory(crew=crew, visit_on=on)
    VisitTaskFactory(visit=visit, surface=surface, **({"action": "test"} | values))
    return visit


def seen(crew, on=TODAY):
    return movings([crew], on, outputs_now(crew.organisation), Site.today)


def mark(crew, moves, on=TODAY, reason="Rain."):
    outputs = outputs_now(crew.organisation)
    proposed = [move.key for move in moves]
    return mark_unworkable(crews=[crew], on=on, reason=reason, outputs=outputs, proposed=proposed)


def test_the_visit_moves_to_the_next_day_and_the_crew_stays_in(firm, crew):
    visit = visit_with(crew, firm.surface)

    mark(crew, seen(crew))

    visit.refresh_from_db()
    assert (visit.visit_on, visit.status) == (TODAY + DAY, "scheduled")
    absence = CrewAbsence.objects.get()
    assert (absence.crew, absence.first_on, absence.last_on, absence.reason) == (crew, TODAY, TODAY, "Rain.")


def test_what_is_open_joins_a_visit_that_the_crew_has_there(firm, crew):
    visit = visit_with(crew, firm.surface)
    there = visit_with(crew, SurfaceFactory(site=firm.site), TODAY + DAY)

    mark(crew, seen(crew))

    visit.refresh_from_db()
    assert there.tasks.count() == 2
    assert (visit.status, visit.cancel_reason) == ("cancelled", f"Moved to {day(TODAY + DAY)}: Rain.")


def test_what_was_done_before_the_rain_stays_with_its_day(firm, crew):
    visit = visit_with(crew, firm.surface)
    done = VisitTaskFactory(visit=visit, surface=firm.surface, action="look")
    visits.finish_task(task=done, finding="Sound.")
    visit_with(crew, SurfaceFactory(site=firm.site), TODAY + DAY)

    mark(crew, seen(crew))

    visit.refresh_from_db()
    assert [task.pk for task in visit.tasks.all()] == [done.pk]
    assert visit.status == "done"


def test_a_closed_site_a_notice_and_other_days_away_are_kept(firm, crew):
    firm.site.notice_days = 3
    firm.site.closed_weekdays = Weekdays(((TODAY + 3 * DAY).isoweekday(),))
    firm.site.save()
    CrewAbsence.objects.create(crew=crew, first_on=TODAY + 4 * DAY, last_on=TODAY + 5 * DAY)
    visit_with(crew, firm.surface)

    assert [move.to for move in seen(crew)] == [TODAY + 6 * DAY]


def test_a_cleaning_waits_for_its_season(firm, crew):
    from_now = [(TODAY + 31 * ahead * DAY).month for ahead in range(2)]
    firm.site.frost_months = type(firm.site.frost_months)(tuple(sorted(set(from_now))))
    firm.site.save()
    visit_with(crew, firm.surface, action="clean", method="vacuum")

    assert [move.to for move in seen(crew)] == [None]


def test_a_visit_without_a_day_stays_and_is_told(firm, crew):
    crew.weekdays = Weekdays((TODAY.isoweekday(),))
    crew.save()
    CrewAbsence.objects.create(crew=crew, first_on=TODAY + DAY, last_on=TODAY + 60 * DAY)
    visit = visit_with(crew, firm.surface)

    moves = mark(crew, seen(crew))

    visit.refresh_from_db()
    assert [move.to for move in moves] == [None]
    assert visit.visit_on == TODAY


def test_what_changed_since_it_was_shown_is_not_moved(firm, crew):
    visit = visit_with(crew, firm.surface)
    shown = seen(crew)
    CrewAbsence.objects.create(crew=crew, first_on=TODAY + DAY, last_on=TODAY + DAY)

    with pytest.raises(NotAllowedNowError, match="changed since this was proposed"):
        mark(crew, shown)

    visit.refresh_from_db()
    assert visit.visit_on == TODAY


def test_pressing_twice_moves_once(firm, crew):
    visit = visit_with(crew, firm.surface)
    shown = seen(crew)
    mark(crew, shown)

    with pytest.raises(NotAllowedNowError):
        mark(crew, shown)

    visit.refresh_from_db()
    assert visit.visit_on == TODAY + DAY
    assert CrewAbsence.objects.count() == 1


@pytest.mark.parametrize(("reason", "on"), [(" ", TODAY), ("Rain.", TODAY - 3 * DAY)])
def test_a_reason_and_a_day_that_is_not_over_are_asked_for(firm, crew, reason, on):
    with pytest.raises(ValidationError):
        mark(crew, [], on, reason)

    assert not CrewAbsence.objects.exists()


def test_many_crews_cost_as_many_queries_as_one(firm, django_assert_max_num_queries):
    crews = [CrewFactory(organisation=firm.organisation) for _ in range(5)]
    for crew in crews:
        visit_with(crew, firm.surface)
    outputs = outputs_now(firm.organisation)

    with django_assert_max_num_queries(4):
        movings(crews, TODAY, outputs, Site.today)


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


ADDRESS = "planning:day-unworkable"


def test_what_would_move_is_seen_first_and_moved_in_one_press(office, firm, crew):
    visit = visit_with(crew, firm.surface)
    asked = {"on": TODAY.isoformat(), "crews": str(crew.pk), "reason": "Rain."}
    page = office.get(reverse(ADDRESS), asked)
    moves = page.context["moves"]
    assert Visit.objects.get(pk=visit.pk).visit_on == TODAY

    answer = office.post(reverse(ADDRESS), asked | {"proposed": [move.key for move in moves]}, follow=True)

    assert "1 visit moved." in answer.content.decode()
    assert Visit.objects.get(pk=visit.pk).visit_on == TODAY + DAY


def test_another_proposal_is_shown_where_things_changed(office, firm, crew):
    visit_with(crew, firm.surface)
    asked = {"on": TODAY.isoformat(), "crews": str(crew.pk), "reason": "Rain."}

    answer = office.post(reverse(ADDRESS), asked | {"proposed": ["something else"]})

    assert answer.status_code == 409
    assert "changed since this was proposed" in answer.content.decode()
    assert len(answer.context["moves"]) == 1


def test_a_crew_of_another_firm_cannot_be_kept_in(office):
    other = CrewFactory()

    answer = office.post(
        reverse(ADDRESS), {"on": TODAY.isoformat(), "crews": str(other.pk), "reason": "Rain."}
    )

    assert answer.context["form"].errors["crews"]
    assert not CrewAbsence.objects.exists()


def test_tasks_keep_their_advice_when_they_move(firm, crew):
    visit = visit_with(crew, firm.surface)
    before = list(VisitTask.objects.values_list("pk", "surface", "action"))
    visit_with(crew, SurfaceFactory(site=firm.site), TODAY + DAY)

    mark(crew, seen(crew))

    assert VisitTask.objects.filter(pk=before[0][0]).exclude(visit=visit).exists()


def test_what_was_done_before_the_rain_stays_with_its_day_also_where_the_crew_is_free_later(firm, crew):
    visit = visit_with(crew, firm.surface)
    done = VisitTaskFactory(visit=visit, surface=firm.surface, action="look")
    visits.finish_task(task=done, finding="Sound.")

    mark(crew, seen(crew))

    visit.refresh_from_db()
    moved = Visit.objects.get(visit_on=TODAY + DAY)
    assert ([t.pk for t in visit.tasks.all()], visit.status) == ([done.pk], "done")
    assert [task.action for task in moved.tasks.all()] == ["test"]


def test_a_day_on_which_everything_else_failed_is_called_off(firm, crew):
    visit = visit_with(crew, firm.surface)
    failed = VisitTaskFactory(visit=visit, surface=firm.surface, action="look")
    told = [day_end.Told(failed, TaskOutcome.NOT_DONE, "Locked gate.")]
    day_end.tell_day(visit=visit, told=told)
    visit_with(crew, SurfaceFactory(site=firm.site), TODAY + DAY)

    mark(crew, seen(crew))

    visit.refresh_from_db()
    assert visit.status == "cancelled"


@pytest.mark.parametrize(("action", "expected"), [("clean", TODAY + DAY), ("rejoint", None)])
def test_a_cleaning_does_not_pass_the_test_after_it(firm, crew, action, expected):
    """What has to cure keeps its distance to the test, so it waits for a person."""
    method = "vacuum" if action == "clean" else "rejoint_resin"
    visit_with(crew, firm.surface, action=action, method=method)
    visit_with(crew, firm.surface, TODAY + 2 * DAY, moment="after")

    assert [move.to for move in seen(crew)] == [expected]


def test_a_cleaning_that_would_come_after_its_test_stays_for_a_person(firm, crew):
    CrewAbsence.objects.create(crew=crew, first_on=TODAY + DAY, last_on=TODAY + 3 * DAY)
    visit_with(crew, firm.surface, action="clean", method="vacuum")
    visit_with(CrewFactory(organisation=firm.organisation), firm.surface, TODAY + 2 * DAY, moment="after")

    assert [move.to for move in seen(crew)] == [None]
