"""Plans of work with tests beside cleanings, surfaces that cure, crews of different price, and work of several days."""

from datetime import time, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from core.calc.paving import CleaningMethod
from core.errors import AlreadyDoneError, NotAllowedNowError
from maintenance.models import MethodTerms, Recommendation
from maintenance.services.cleanings import terms_of
from planning.calc.routing.reasons import Why
from planning.models import CrewMethod, VisitTask
from planning.selectors import work_plans as checked
from planning.services import work_plans
from planning.services.visits import add_task
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InspectionFindingFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.planning.services.test_work_plans import advise, place, planned, stops
from tests.refusals import refused

DAY = timedelta(days=1)


@pytest.fixture
def crew(firm):
    place(firm.site)
    return CrewFactory(organisation=firm.organisation, name="One", latitude_deg=0.4, longitude_deg=0.2)


def when(plan, key):
    day, stop = stops(plan)[key]
    return day.on, stop


def accept_all(firm, plan):
    return work_plans.accept_days(plan=plan, days=list(plan.result.days), by=firm.coordinator)


def tasks():
    rows = VisitTask.objects.order_by("visit__visit_on", "created_at")
    return [(task.action, task.moment) for task in rows]


def test_a_test_after_each_cleaning_is_on_the_same_trip(firm, crew):
    advice = advise(firm.surface)

    plan = planned(firm, tests_beside="after")

    (on, cleaning), (test_on, test) = when(plan, f"advice {advice.pk}"), when(plan, f"after {advice.pk}")
    assert (test_on, test.begins, test.title) == (on, cleaning.ends, "Test after the cleaning")


def test_tests_on_both_sides_become_tasks_that_say_which_they_are(firm, crew):
    advise(firm.surface)
    plan = planned(firm, tests_beside="both")

    accept_all(firm, plan)

    assert tasks() == [("test", "before"), ("clean", ""), ("test", "after")]
    assert [task.title for task in VisitTask.objects.order_by("created_at")][::2] == [
        "Test before the cleaning",
        "Test after the cleaning",
    ]


def test_a_test_that_is_advised_stands_before_the_cleaning_and_no_second_one_is_made(firm, crew):
    clean, test = advise(firm.surface), advise(firm.surface, "test", "")

    plan = planned(firm, tests_beside="both")

    assert set(stops(plan)) == {f"advice {clean.pk}", f"advice {test.pk}", f"after {clean.pk}"}
    assert when(plan, f"advice {test.pk}")[1].ends == when(plan, f"advice {clean.pk}")[1].begins


def test_sweeping_leaves_off_asks_for_no_test(firm, crew):
    advise(firm.surface, method="broom")

    assert len(stops(planned(firm, tests_beside="both"))) == 1


def test_a_cleaning_that_is_on_a_visit_gets_its_test_on_that_visit_once(firm, crew):
    visit = VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY + DAY)
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action="clean", method="vacuum")

    plan = planned(firm, tests_beside="after")
    on, _ = when(plan, f"after {task.pk}")
    accept_all(firm, plan)
    again = planned(firm, tests_beside="after")

    assert on == visit.visit_on
    assert tasks() == [("clean", ""), ("test", "after")]
    assert [stop.is_settled for day in again.result.days for stop in day.stops] == [True, True]


def test_resin_joints_keep_people_off_until_they_are_firm_and_the_stop_says_until_when(firm, crew):
    advice = advise(firm.surface, "rejoint", "rejoint_resin", saves="9000.00")
    firm.surface.area_m2 = 80
    firm.surface.save()

    plan = planned(firm, days=21, tests_beside="after")

    (on, work), (test_on, _) = when(plan, f"advice {advice.pk}"), when(plan, f"after {advice.pk}")
    assert (work.foot_min, work.vehicles_min) == (24 * 60, 168 * 60)
    assert test_on >= on + 2 * DAY


def test_the_firms_own_time_of_setting_counts(firm, crew):
    terms_of(firm.organisation)
    MethodTerms.objects.filter(method="joint_refill").update(foot_after_h=72, vehicles_after_h=96)
    advice = advise(firm.surface, "rejoint", "joint_refill", saves="9000.00")

    plan = planned(firm, days=21, tests_beside="after")

    on, work = when(plan, f"advice {advice.pk}")
    assert work.foot_min == 72 * 60
    assert when(plan, f"after {advice.pk}")[0] > on + 3 * DAY


def test_a_surface_that_is_still_curing_is_not_entered(firm, crew):
    CleaningFactory(surface=firm.surface, method="rejoint_resin", cleaned_on=TODAY)
    advice = advise(firm.surface, "inspect", "")

    assert when(planned(firm), f"advice {advice.pk}")[0] >= TODAY + 2 * DAY


def own_and_subcontracted(firm, crew, price):
    CrewMethod.objects.create(crew=crew, method="vacuum")
    other = CrewFactory(
        organisation=firm.organisation,
        name="Two",
        latitude_deg=0.4,
        longitude_deg=0.2,
        is_subcontracted=True,
    )
    CrewMethod.objects.create(crew=other, method="vacuum", cost_per_m2=Decimal(price))
    return other


@pytest.mark.parametrize(("price", "name"), [("0.01", "Two"), ("3.00", "One")])
def test_the_plan_takes_the_cheaper_of_own_hours_and_a_subcontractors_price(firm, crew, price, name):
    crews = {"One": crew, "Two": own_and_subcontracted(firm, crew, price)}
    advice = advise(firm.surface)

    day, stop = stops(planned(firm))[f"advice {advice.pk}"]

    assert day.crew == crews[name].pk
    by_hour = float(crew.hour_cost) * stop.minutes / 60
    assert stop.cost == pytest.approx(
        by_hour if name == "One" else float(price) * firm.surface.area_m2, abs=0.01
    )


def test_a_subcontractor_whose_price_exceeds_what_waiting_costs_is_not_taken(firm, crew):
    own_and_subcontracted(firm, crew, "900.00")
    crew.weekdays = type(crew.weekdays)(())
    crew.save()
    advise(firm.surface)

    assert [left.why for left in planned(firm).result.left] == [Why.DRIVE]


def big_job(firm):
    firm.surface.area_m2 = 100_000
    firm.surface.save()
    return advise(firm.surface, saves="90000.00")


def test_work_of_several_days_is_accepted_as_a_whole_and_stays_so_in_the_next_plan(firm, crew):
    big_job(firm)
    plan = planned(firm, days=21)
    first = plan.result.days[0]
    assert first.stops[0].parts == len(plan.result.days) > 1

    work_plans.accept_days(plan=plan, days=[first], by=firm.coordinator)

    again = planned(firm, days=21)
    assert VisitTask.objects.count() == first.stops[0].parts
    done = VisitTask.objects.order_by("visit__visit_on").first()
    VisitTask.objects.filter(pk=done.pk).update(ended_at=now(), outcome="done")
    later = planned(firm, days=21)
    assert [day.stops[0].minutes for day in later.result.days] == [
        day.stops[0].minutes for day in again.result.days[1:]
    ]
    assert again.result.left == ()
    assert [day.on for day in again.result.days] == [day.on for day in plan.result.days]


def test_an_accepted_day_gives_its_times_to_every_kind_of_work(firm, crew):
    visit = VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY - 3 * DAY)
    left = VisitTaskFactory(
        visit=visit, surface=firm.surface, action="clean", method="vacuum", ended_at=now(), outcome="not_done"
    )
    advise(SurfaceFactory(site=firm.site, area_m2=200))
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    ahead = VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY + DAY)
    VisitTaskFactory(visit=ahead, surface=SurfaceFactory(site=firm.site), action="inspect")
    plan = planned(firm, tests_beside="both")
    told = {stop.key.split()[0]: (stop.begins, stop.ends) for _, stop in stops(plan).values()}
    assert set(told) == {"rest", "advice", "finding", "task", "before", "after"}

    accept_all(firm, plan)

    rows = VisitTask.objects.exclude(pk=left.pk).select_related("visit", "follows", "inspection_finding")
    on_days = {(day.on, stop.begins, stop.ends) for day in plan.result.days for stop in day.stops}
    assert {(task.visit.visit_on, task.begins_min, task.ends_min) for task in rows} == on_days
    assert {task.inspection_finding for task in rows} == {None, finding}
    (rest,) = (task for task in rows if task.follows_id)
    assert (rest.begins_min, rest.ends_min) == told["rest"]


def test_a_test_of_several_days_is_put_on_each_as_a_test_of_that_side(firm, crew):
    place(firm.site, crew.latitude_deg, crew.longitude_deg)  # a short way, since a test is worth little
    firm.surface.area_m2 = 20_000
    firm.surface.save()
    advise(firm.surface, saves="900000.00")
    plan = planned(firm, days=42, tests_beside="after")
    days = [stop for day in plan.result.days for stop in day.stops if stop.is_made]
    assert len(days) > 1

    accept_all(firm, plan)

    made = VisitTask.objects.filter(action="test")
    assert [task.moment for task in made] == ["after"] * len(days)
    assert {(task.recommendation_id, task.begins_min) for task in made} == {(None, days[0].begins)}
    again = planned(firm, days=42, tests_beside="after")
    assert again.result.left == ()
    assert [day.on for day in again.result.days] == [day.on for day in plan.result.days]


def test_a_test_is_not_accepted_without_its_cleaning(firm, crew):
    firm.surface.area_m2 = 1500
    firm.surface.save()
    advise(firm.surface, "rejoint", "joint_refill", saves="9000.00")
    plan = planned(firm, days=28, tests_beside="after")
    test_day = next(day for day in plan.result.days if day.stops[0].is_made)

    with refused(NotAllowedNowError, "stands with a cleaning that is not on a visit yet"):
        work_plans.accept_days(plan=plan, days=[test_day], by=firm.coordinator)

    assert not VisitTask.objects.exists()
    assert accept_all(firm, plan) == len(plan.result.days)
    assert ("test", "after") in tasks()


def test_a_test_that_somebody_put_on_a_visit_meanwhile_is_told(firm, crew):
    advise(firm.surface)
    plan = planned(firm, tests_beside="after")
    visit = VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY + 5 * DAY)
    add_task(visit=visit, surface=firm.surface, action="test", moment="after")

    with refused(AlreadyDoneError, "is on a visit already"):
        accept_all(firm, plan)


def test_a_cleaning_is_moved_with_its_tests_and_they_stay_one_trip(firm, crew):
    advice = advise(firm.surface)
    plan = planned(firm, tests_beside="both")
    before = when(plan, f"advice {advice.pk}")[0]
    to = next(d for d in (TODAY + i * DAY for i in range(1, 9)) if d.isoweekday() <= 5 and d != before)

    work_plans.move_work(plan=plan, key=f"after {advice.pk}", crew=crew, on=to)

    plan.refresh_from_db()
    (day,) = plan.result.days
    assert day.on == to
    assert [stop.key.split()[0] for stop in day.stops] == ["before", "advice", "after"]


def other_day(*taken):
    days = (TODAY + i * DAY for i in range(1, 12))
    return next(day for day in days if day.isoweekday() <= 5 and day not in taken)


def test_a_test_beside_a_cleaning_on_a_visit_is_moved_alone(firm, crew):
    visit = VisitFactory(crew=crew, organisation=firm.organisation, visit_on=other_day())
    task = VisitTaskFactory(visit=visit, surface=firm.surface, action="clean", method="vacuum")
    plan = planned(firm, tests_beside="after")
    to = next(d for d in (visit.visit_on + i * DAY for i in range(1, 9)) if d.isoweekday() <= 5)

    work_plans.move_work(plan=plan, key=f"after {task.pk}", crew=crew, on=to)

    plan.refresh_from_db()
    assert when(plan, f"after {task.pk}")[0] == to
    assert when(plan, f"task {task.pk}")[0] == visit.visit_on


def test_a_cleaning_whose_test_is_not_to_be_planned_any_more_says_so(firm, crew):
    clean, test = advise(firm.surface), advise(firm.surface, "test", "")
    plan = planned(firm)
    Recommendation.objects.filter(pk=test.pk).update(status="declined")

    with refused(NotAllowedNowError, "Test at", "is not to be planned any more"):
        work_plans.move_work(
            plan=plan, key=f"advice {clean.pk}", crew=crew, on=other_day(plan.result.days[0].on)
        )


def test_what_joins_a_day_does_not_come_between_a_cleaning_and_its_tests(firm, crew):
    clean = advise(firm.surface)
    plan = planned(firm, tests_beside="both")
    (on, first), (_, last) = when(plan, f"before {clean.pk}"), when(plan, f"after {clean.pk}")
    opens, beside = first.ends, SiteFactory(owner=firm.owner)
    place(beside, works_from=at(opens), works_until=at(opens + 30))
    crew.hours_a_day = (last.ends + 60 - crew.shift_min[0]) / 60  # the look fits between, not before or after
    crew.save()
    look = advise(SurfaceFactory(site=beside), "inspect", "", earliest_on=on)
    plan = planned(firm, tests_beside="both")
    (key,) = (key for key in stops(plan) if key == f"advice {look.pk}")

    with refused(ValidationError, "does not fit One on", beside="on"):
        work_plans.move_work(plan=plan, key=key, crew=crew, on=when(plan, f"advice {clean.pk}")[0])


def at(minutes):
    return time(minutes // 60, minutes % 60)


def test_a_move_to_which_the_checker_objects_is_refused_and_changes_nothing(firm, crew, monkeypatch):
    advice = advise(firm.surface)
    plan = planned(firm, tests_beside="both")
    before = plan.result
    to = other_day(before.days[0].on)
    real = checked.faults

    def objecting(problem, found):
        days = {route.day for route in found.routes}
        return real(problem, found) + ["No."] * ((to - TODAY).days in days)

    monkeypatch.setattr(checked, "faults", objecting)

    with refused(ValidationError, "would not hold any more", beside="on"):
        work_plans.move_work(plan=plan, key=f"advice {advice.pk}", crew=crew, on=to)

    plan.refresh_from_db()
    assert plan.result == before


def test_a_test_is_not_moved_into_the_time_in_which_the_surface_cures(firm, crew):
    firm.surface.area_m2 = 80
    firm.surface.save()
    advice = advise(firm.surface, "rejoint", "rejoint_resin", saves="9000.00")
    plan = planned(firm, days=21, tests_beside="after")
    on = when(plan, f"advice {advice.pk}")[0]

    with refused(ValidationError, "does not fit One on", beside="on"):
        work_plans.move_work(plan=plan, key=f"after {advice.pk}", crew=crew, on=on)


def test_one_trip_to_a_site_rather_than_three(firm, crew):
    for _ in range(3):
        advise(SurfaceFactory(site=firm.site))

    plan = planned(firm, tests_beside="both")

    assert len(plan.result.days) == len({day.on for day, _ in stops(plan).values()}) <= 2
    assert Recommendation.objects.count() == 3
    assert CleaningMethod.VACUUM in {row.method for row in Recommendation.objects.all()}
