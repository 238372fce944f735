"""Work on several visits: on how many it stands, and which share of its surface each of them is to do."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.utils.timezone import now

from core.calc.paving import CleaningMethod
from maintenance.selectors.care import offered_terms
from maintenance.services.cleanings import terms_of
from planning.calc.outputs import Output
from planning.calc.work_orders import cleaning_min
from planning.models import VisitTask
from planning.presentation.day_end import told_rows
from planning.selectors.outputs import minutes_of, outputs_of, planned_min
from planning.selectors.parts import left_by_task, part_by_task, parts_of, shares_of
from planning.selectors.work_orders import Period
from planning.selectors.work_problem import gather
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    RecommendationFactory,
    VisitFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def on(firm):
    crew = CrewFactory(organisation=firm.organisation)

    def task(day, status="scheduled", **values):
        visit = VisitFactory(
            crew=crew, organisation=firm.organisation, visit_on=TODAY + day * DAY, status=status
        )
        values = {"action": "clean", "method": "vacuum"} | values
        if values.get("outcome"):
            values["ended_at"] = now()
        return VisitTaskFactory(visit=visit, surface=firm.surface, **values)

    return task


def advice(firm):
    return RecommendationFactory(surface=firm.surface, status="planned")


def part(on, share, **values):
    """A task of which a cleaning did a share."""
    task = on(-5, outcome="part", **values)
    task.cleaning = CleaningFactory(surface=task.surface, share_of_area=share)
    task.save()
    return task


def test_what_was_done_yesterday_counts_among_the_days_of_a_job(firm, on):
    row = advice(firm)
    first, second, third = (
        on(day, recommendation=row, outcome=outcome) for day, outcome in ((-1, "done"), (0, ""), (1, ""))
    )
    other = on(2)

    assert parts_of([second, third, other]) == {second.pk: 3, third.pk: 3, other.pk: 1}
    assert parts_of([first]) == {first.pk: 3}
    assert [part_by_task([each])[each.pk].is_last for each in (second, third)] == [False, True]


def test_a_day_that_was_called_off_still_counts_and_is_not_the_last_ahead(firm, on):
    row = advice(firm)
    ahead = on(1, recommendation=row)
    on(2, status="cancelled", recommendation=row)

    assert part_by_task([ahead]) == {ahead.pk: (2, True)}


def test_the_days_of_a_rest_do_what_was_left_between_them(firm, on):
    left = part(on, 0.6)
    rests = [on(day, follows=left) for day in (1, 2)]
    test = on(1, action="test", method="", follows=left, moment="after")

    assert parts_of([*rests, test]) == {rests[0].pk: 2, rests[1].pk: 2, test.pk: 1}
    assert shares_of([*rests, test]) == pytest.approx({rests[0].pk: 0.2, rests[1].pk: 0.2, test.pk: 1.0})
    assert left_by_task([left]) == pytest.approx({left.pk: 0.4})


def test_a_rest_that_was_called_off_and_is_planned_anew_is_whole(firm, on):
    left = part(on, 0.6)
    on(1, status="cancelled", follows=left)
    again = on(2, follows=left)

    assert shares_of([again]) == pytest.approx({again.pk: 0.4})


def test_a_rest_of_a_rest_is_what_both_left(firm, on):
    second = part(on, 0.3, follows=part(on, 0.6))

    assert left_by_task([second]) == pytest.approx({second.pk: 0.1})


@pytest.mark.parametrize(("share", "left"), [(0.2, 0.3), (0.8, 0.1), (1.0, 0.5)])
def test_of_one_day_of_two_half_is_left_unless_its_share_says_otherwise(firm, on, share, left):
    before = on(-9, outcome="not_done")
    task = part(on, share, follows=before)
    on(1, follows=before)

    assert left_by_task([task]) == pytest.approx({task.pk: left})


def test_a_test_of_two_days_that_nobody_advised_is_one_and_last_years_another(firm, on):
    values = {"action": "test", "method": "", "moment": "after"}
    days = [on(day, **values) for day in (-365, 1, 2)]

    assert parts_of(days) == {days[0].pk: 1, days[1].pk: 2, days[2].pk: 2}


def test_parts_are_told_in_one_query_and_in_none_where_nothing_can_have_any(
    firm, on, django_assert_num_queries
):
    row = advice(firm)
    tasks = [on(day, recommendation=row) for day in (1, 2)]
    alone = on(3)

    with django_assert_num_queries(1):
        parts_of([*tasks, alone])
    with django_assert_num_queries(0):
        shares_of([alone])
    assert VisitTask.objects.count() == 3


def test_the_hours_of_a_day_are_its_part_of_the_work_wherever_they_are_told(firm, on):
    row = advice(firm)
    tasks = [on(day, recommendation=row) for day in (0, 1)]
    outputs = {(tasks[0].visit.crew_id, CleaningMethod.VACUUM): Output(firm.surface.area_m2, 0)}
    told = told_rows([SimpleNamespace(task=task) for task in tasks], outputs)

    assert planned_min(tasks[1], outputs) == 15 + 30
    assert minutes_of(tasks, outputs) == dict.fromkeys([task.pk for task in tasks], 15 + 30)
    assert [each.planned for each in told] == ["0.8 h", "0.8 h"]


def test_a_test_of_two_days_takes_half_its_spots_on_each(firm, on):
    firm.surface.area_m2 = 20_000
    firm.surface.save()
    values = {"action": "test", "method": "", "moment": "after"}
    first, alone = on(0, **values), on(100, **values)
    whole = planned_min(alone, {})
    on(1, **values)

    assert planned_min(first, {}) == pytest.approx(15 + (whole - 15) / 2, abs=25)


def test_a_plan_counts_what_a_visit_left_and_not_the_whole_surface(firm, on):
    left = part(on, 0.6)
    organisation = firm.organisation
    gathered = gather(organisation, offered_terms(terms_of(organisation)), Period(TODAY, 14, TODAY))
    order = gathered.problem.by_key[f"rest {left.pk}"]
    output = outputs_of(organisation, offered_terms(terms_of(organisation)))
    (m2_h,) = {each.m2_h for (_, method), each in output.items() if method is CleaningMethod.VACUUM}

    assert order.minutes == {0: cleaning_min(0.4 * firm.surface.area_m2, m2_h)}
    hour_cost = float(left.visit.crew.hour_cost)
    assert gathered.work_cost[order.key][0] == pytest.approx(hour_cost * order.minutes[0] / 60)
