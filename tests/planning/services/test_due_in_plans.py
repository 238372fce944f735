"""What falls due because a surface was built comes into plans of work: when, for how long, and never twice."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils.timezone import now

from core.calc.months import months_after
from core.errors import NotAllowedNowError
from maintenance.models import CleaningEvent
from planning.models import VisitTask
from planning.selectors.due_work import due_work, work_for_crews
from planning.selectors.parts import shares_of
from planning.services import visits, work_plans
from planning.services.matching import match_records_to_tasks
from qa.models import Surface
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    RoundFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.planning.services.test_work_plans import advise, place, planned, stops

DAY = timedelta(days=1)


@pytest.fixture
def crew(firm):
    place(firm.site)
    return CrewFactory(organisation=firm.organisation, name="One", latitude_deg=0.4, longitude_deg=0.2)


def opened(firm, on, **changes):
    Surface.objects.filter(pk=firm.surface.pk).update(opened_on=on, **changes)
    firm.surface.refresh_from_db()
    return firm.surface


def make_test(surface, on):
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=on))


def accept(plan, firm):
    return work_plans.accept_days(
        plan=plan, days=[day for day in plan.result.days if day.is_new], by=firm.coordinator
    )


def test_a_surface_that_opens_within_the_plan_gets_its_first_test_from_that_day_on(firm, crew):
    surface = opened(firm, TODAY + 5 * DAY)

    day, stop = stops(planned(firm))[f"first_test {surface.pk}"]

    assert day.on >= TODAY + 5 * DAY
    assert (stop.title, stop.surface) == ("First test", surface.pk)


def test_a_surface_that_opens_after_the_plan_is_left_for_a_later_one(firm, crew):
    opened(firm, TODAY + 30 * DAY)

    assert stops(planned(firm, days=14)) == {}


def test_the_last_test_of_a_guarantee_is_not_put_before_the_days_in_which_it_counts(firm, crew):
    ends = TODAY + 93 * DAY  # the test counts from three days on; it is due in two months
    surface = opened(firm, months_after(ends, -36), guarantee_months=36)
    make_test(surface, TODAY - 200 * DAY)
    starts = surface.guarantee_ends_on - 90 * DAY

    assert work_for_crews(firm.organisation, now()) == []  # too early to be told at all
    Surface.objects.filter(pk=surface.pk).update(opened_on=months_after(ends - 10 * DAY, -36))
    surface.refresh_from_db()

    day, _ = stops(planned(firm))[f"guarantee {surface.pk}"]
    assert day.on >= min(starts, surface.guarantee_ends_on - 90 * DAY)


def test_joints_are_topped_up_by_their_area_without_a_machine_that_takes_stone_out(firm, crew):
    surface = opened(firm, months_after(TODAY, -6), surface_type="picp", area_m2=300.0)
    make_test(surface, TODAY - 100 * DAY)

    _, stop = stops(planned(firm))[f"top_up {surface.pk}"]

    assert stop.minutes == 15 + 120  # set up, then 150 m2 an hour


def test_what_is_accepted_stands_on_a_visit_and_is_not_planned_again(firm, crew):
    surface = opened(firm, TODAY)

    assert accept(planned(firm), firm) == 1

    task = VisitTask.objects.get()
    assert (task.surface, task.action, task.method) == (surface, "test", "")
    assert work_for_crews(firm.organisation, now()) == []
    assert [key.partition(" ")[0] for key in stops(planned(firm))] == ["task"]


def test_the_list_of_what_is_due_says_on_which_day_a_visit_does_it_and_no_longer_that_it_is_late(
    firm, crew, client
):
    opened(firm, TODAY - 3 * DAY)
    before = due_work(firm.viewer, firm.organisation, now())[0]

    accept(planned(firm), firm)

    after = due_work(firm.viewer, firm.organisation, now())[0]
    visit_on = VisitTask.objects.get().visit.visit_on
    assert (before.is_late, before.planned_on) == (True, None)
    assert (after.is_late, after.planned_on) == (False, visit_on)
    client.force_login(firm.viewer)
    assert "On a visit of" in client.get(reverse("planning:due-list")).content.decode()


def test_a_visit_that_was_called_off_gives_the_work_back(firm, crew):
    surface = opened(firm, TODAY)
    accept(planned(firm), firm)

    visits.cancel_visit(visit=VisitTask.objects.get().visit, reason="Rain")

    assert set(stops(planned(firm))) == {f"first_test {surface.pk}"}


def test_what_somebody_planned_meanwhile_is_not_accepted_a_second_time(firm, crew):
    surface = opened(firm, TODAY)
    plan = planned(firm)
    VisitTaskFactory(
        visit=VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY + DAY),
        surface=surface,
        action="test",
    )

    with pytest.raises(NotAllowedNowError, match=r"First test at .* not to be planned any more"):
        accept(plan, firm)

    assert VisitTask.objects.count() == 1


def test_what_was_tested_meanwhile_is_not_accepted(firm, crew):
    surface = opened(firm, TODAY)
    plan = planned(firm)
    make_test(surface, TODAY)

    with pytest.raises(NotAllowedNowError):
        accept(plan, firm)


def test_a_first_test_where_a_cleaning_is_advised_stands_before_that(firm, crew):
    surface = opened(firm, TODAY)
    advice = advise(surface)

    found = stops(planned(firm, days=28))

    test_day, test = found[f"first_test {surface.pk}"]
    cleaning_day, cleaning = found[f"advice {advice.pk}"]
    assert (test_day.on, test.begins) < (cleaning_day.on, cleaning.begins)


def test_a_test_that_is_advised_is_not_asked_for_a_second_time(firm, crew):
    surface = opened(firm, TODAY)
    advice = advise(surface, action="test", method="")

    assert set(stops(planned(firm))) == {f"advice {advice.pk}"}


def test_nothing_of_another_firm_or_of_a_removed_surface_comes_in(firm, crew):
    opened(firm, TODAY, removed_on=TODAY)
    SurfaceFactory(opened_on=TODAY)

    assert stops(planned(firm)) == {}


def test_a_filling_on_record_ends_the_task_and_a_sweeping_does_not(firm, crew):
    surface = opened(firm, months_after(TODAY, -6), surface_type="picp")
    make_test(surface, TODAY - 100 * DAY)
    accept(planned(firm), firm)
    task = VisitTask.objects.get()

    CleaningFactory(surface=surface, cleaned_on=TODAY, method="vacuum", material_in_kg=None)
    assert match_records_to_tasks(surface=surface) == 0

    CleaningFactory(surface=surface, cleaned_on=TODAY, method="vacuum", material_in_kg=40.0)
    assert match_records_to_tasks(surface=surface) == 1
    task.refresh_from_db()
    assert task.cleaning == CleaningEvent.objects.get(material_in_kg=40.0)


def test_a_top_up_of_several_days_counts_its_part_on_each(firm, crew):
    surface = opened(firm, months_after(TODAY, -7), surface_type="picp", area_m2=3000.0)
    make_test(surface, TODAY - 100 * DAY)

    accept(planned(firm), firm)

    tasks = list(VisitTask.objects.select_related("surface", "visit"))
    assert len(tasks) == 3
    assert set(shares_of(tasks).values()) == {1 / 3}


def test_due_work_reads_the_same_number_of_rows_for_many_surfaces(firm, crew, django_assert_num_queries):
    opened(firm, TODAY)
    SurfaceFactory.create_batch(4, site=firm.site, opened_on=TODAY)

    with django_assert_num_queries(3):
        work = work_for_crews(firm.organisation, now())
        names = {f"{each.row.site.name} {each.row.area_m2}" for each in work}

    assert len(work) == 5
    assert names


def test_of_two_tests_that_fall_due_one_is_planned_and_does_for_both(firm, crew):
    """A guarantee of a year on a surface that was never tested: its last test is its first one."""
    opened(firm, months_after(TODAY + 20 * DAY, -12), guarantee_months=12, surface_type="porous_asphalt")
    assert len(work_for_crews(firm.organisation, now())) == 2

    plan = planned(firm)

    assert len(stops(plan)) == 1
    assert accept(plan, firm) == 1
    assert work_for_crews(firm.organisation, now()) == []


def test_where_a_test_is_advised_the_last_one_of_a_guarantee_is_that(firm, crew):
    surface = opened(firm, months_after(TODAY + 20 * DAY, -36), guarantee_months=36)
    make_test(surface, TODAY - 200 * DAY)
    advice = advise(surface, action="test", method="")

    plan = planned(firm)

    assert set(stops(plan)) == {f"advice {advice.pk}"}
    assert accept(plan, firm) == 1
