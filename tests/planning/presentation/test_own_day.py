"""A crew's day for who is out with it: which task is next, how far it is, and the way there."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from planning.presentation.own_day import crew_choices, day_choices, next_task, own_day, way_to
from planning.selectors.crew_days import crew_day
from planning.selectors.own_days import DayAhead
from tests.clock import TODAY
from tests.factories import CrewFactory, SiteFactory, SurfaceFactory, VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db
BACK = "/my-day/?on=2026-06-10"


@pytest.fixture
def visit(firm):
    crew = CrewFactory(organisation=firm.organisation, latitude_deg=0.0, longitude_deg=0.0)
    return VisitFactory(crew=crew, visit_on=TODAY, organisation=firm.organisation)


def task_at(visit, east, action="test", **changes):
    site = SiteFactory(owner__organisation=visit.organisation, latitude_deg=0.0, longitude_deg=east)
    return VisitTaskFactory(visit=visit, surface=SurfaceFactory(site=site), action=action, **changes)


def ended(**changes):
    return {"ended_at": now(), "outcome": "done"} | changes


def shown(visit):
    return own_day(crew_day(visit.crew, visit.visit_on), BACK)


def test_the_nearest_site_with_something_to_do_comes_next(visit):
    far, near = task_at(visit, 0.4), task_at(visit, 0.1)

    day = shown(visit)

    assert [stop.is_next for stop in day.stops] == [True, False]
    assert next_task(day.stops).task == near
    assert (day.done, day.pieces, day.is_over) == (0, 2, False)
    assert day.stops[1].line.tasks[0].task == far


def test_what_has_ended_is_counted_and_the_next_site_comes_in_front(visit):
    task_at(visit, 0.1, **ended())
    far = task_at(visit, 0.4)

    day = shown(visit)

    assert [(stop.is_done, stop.is_next) for stop in day.stops] == [(True, False), (False, True)]
    assert (next_task(day.stops).task, day.done) == (far, 1)


def test_at_one_site_the_task_that_is_left_is_next(visit):
    first = task_at(visit, 0.1, **ended())
    second = VisitTaskFactory(visit=visit, surface=SurfaceFactory(site=first.surface.site), action="inspect")

    day = shown(visit)

    assert len(day.stops) == 1
    assert day.stops[0].left == 1
    assert next_task(day.stops).task == second


def test_a_day_on_which_all_has_ended_is_over(visit):
    task_at(visit, 0.1, **ended())
    task_at(visit, 0.2, **ended(outcome="not_done"))

    day = shown(visit)

    assert (day.is_over, next_task(day.stops)) == (True, None)


def test_a_record_leads_back_to_the_day_and_a_round_to_its_tests(visit):
    for action, method in (("inspect", ""), ("source", ""), ("look", ""), ("clean", "vacuum"), ("test", "")):
        task_at(visit, 0.1, action, method=method)

    urls = {line.task.action: line.url for stop in shown(visit).stops for line in stop.line.tasks}

    back = "next=%2Fmy-day%2F%3Fon%3D2026-06-10"
    assert {action for action, url in urls.items() if back in url} == {"inspect", "source", "look", "clean"}
    assert "next=" not in urls["test"]


def test_a_top_up_is_recorded_as_a_filling(visit):
    task_at(visit, 0.1, "top_up")

    (line,) = shown(visit).stops[0].line.tasks

    assert line.step == "Record the filling"
    assert "method=joint_refill" in line.url


def test_the_way_is_a_geo_address_with_the_position_and_a_name():
    assert way_to((48.5, -1.25), "Mill & Co (yard)", "") == (
        "geo:48.500000,-1.250000?q=48.500000,-1.250000(Mill%20%26%20Co%20%28yard%29)"
    )


def test_without_a_position_the_way_is_asked_by_address_and_without_both_not_at_all():
    assert way_to(None, "Yard", "1 Mill Lane\n  Ossenfell") == "geo:0,0?q=1+Mill+Lane+Ossenfell"
    assert way_to(None, "Yard", "  ") == ""


def test_one_crew_is_not_offered_for_choice_and_of_two_the_shown_one_is_marked(firm):
    one, two = CrewFactory(organisation=firm.organisation), CrewFactory(organisation=firm.organisation)

    assert crew_choices([one], one) == ()
    assert [choice.is_shown for choice in crew_choices([one, two], two)] == [False, True]


def test_days_are_offered_with_their_weekday_and_the_shown_one_is_marked(visit):
    days = [DayAhead(TODAY, ("A",)), DayAhead(TODAY + timedelta(days=1), ("B",))]

    first, second = day_choices(visit.crew, days, TODAY)

    assert (first.is_shown, second.is_shown) == (True, False)
    assert first.label.startswith(f"{TODAY:%a} ")
    assert f"on={TODAY.isoformat()}" in first.query
