"""Plans of work: what goes into them, how they are made, and what people do with them."""

from datetime import time, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from accounts.models import Notice
from core.calc.jobs import JobState
from core.calc.months import Months
from core.calc.weekdays import Weekdays
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services import jobs
from maintenance.calc.advice_payload import Grounds
from maintenance.models import Recommendation
from planning.calc.plan_payload import WorkPlanResult
from planning.calc.routing.first_free import Booked
from planning.calc.routing.reasons import Why
from planning.models import CrewAbsence, CrewMethod, Visit, VisitTask, WorkPlan
from planning.services import work_plans
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    InspectionFindingFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.refusals import refused

DAY = timedelta(days=1)


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, name="One", latitude_deg=0.4, longitude_deg=0.2)


def advise(surface, action="clean", method="vacuum", saves="900.00", **fields):
    values = {
        "surface": surface,
        "action": action,
        "method": method,
        "due_on": TODAY,
        "earliest_on": TODAY,
        "currency": "EUR",
        "grounds": Grounds(1, ("Because.",), saves=Decimal(saves) if saves else None),
    }
    return Recommendation.objects.create(**values | fields)


def place(site, latitude=0.41, longitude=0.21, **fields):
    site.latitude_deg, site.longitude_deg = latitude, longitude
    for name, value in fields.items():
        setattr(site, name, value)
    site.save()


def planned(firm, days=14, **fields):
    plan = WorkPlan(organisation=firm.organisation, first_on=TODAY, days=days, made_by=firm.coordinator)
    plan.tests_beside = "advised"
    for name, value in fields.items():
        setattr(plan, name, value)
    plan = work_plans.request_plan(plan=plan)
    jobs.run(WorkPlan._meta.label, plan.pk)
    plan.refresh_from_db()
    assert (plan.state, plan.error) == (JobState.DONE, "")
    told = Notice.objects.get(about_id=plan.pk)
    assert (told.user, told.path) == (firm.coordinator, plan.get_absolute_url())
    return plan


def stops(plan):
    return {stop.key: (day, stop) for day in plan.result.days for stop in day.stops}


def test_advice_findings_and_visits_come_into_one_plan_and_share_a_trip(firm, crew):
    place(firm.site)
    advice = advise(firm.surface)
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    task = VisitTaskFactory(
        visit=VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY + DAY),
        surface=firm.surface,
        action="test",
    )

    plan = planned(firm)

    found = stops(plan)
    assert set(found) == {f"advice {advice.pk}", f"finding {finding.pk}", f"task {task.pk}"}
    assert {day.on for day, _ in found.values()} == {TODAY + DAY}
    assert found[f"task {task.pk}"][1].is_settled
    assert plan.result.left == ()
    assert plan.result.travel_min < plan.result.alone_min


def test_a_finding_that_was_once_on_a_visit_and_is_open_again_is_planned(firm, crew):
    place(firm.site)
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    for status, ended_at in (("cancelled", None), ("scheduled", now())):
        visit = VisitFactory(
            crew=crew, organisation=firm.organisation, visit_on=TODAY - 3 * DAY, status=status
        )
        VisitTaskFactory(
            visit=visit,
            surface=firm.surface,
            action="repair",
            inspection_finding=finding,
            ended_at=ended_at,
            outcome="done" if ended_at else "",
        )

    assert f"finding {finding.pk}" in stops(planned(firm))


def test_a_crew_goes_out_on_its_days_in_its_hours_and_not_while_it_is_away(firm, crew):
    place(firm.site)
    crew.weekdays, crew.starts_at, crew.hours_a_day = Weekdays((1, 2)), time(9, 30), 6
    crew.save()
    tuesday = TODAY + (8 - TODAY.isoweekday() + 1) * DAY
    CrewAbsence.objects.create(crew=crew, first_on=tuesday - DAY, last_on=tuesday - DAY)
    advice = advise(firm.surface)

    day, stop = stops(planned(firm))[f"advice {advice.pk}"]

    assert day.on == tuesday
    assert stop.begins >= 9 * 60 + 30
    assert day.shift_min == 360


def test_the_site_is_not_entered_outside_its_hours_on_closed_days_or_before_the_notice(firm, crew):
    crew.weekdays = Weekdays((1, 2, 3, 4, 5, 6, 7))
    crew.save()
    closed = (TODAY + 3 * DAY).isoweekday()
    place(
        firm.site,
        works_from=time(13),
        works_until=time(16),
        closed_weekdays=Weekdays((closed,)),
        notice_days=3,
    )
    advice = advise(firm.surface)

    day, stop = stops(planned(firm))[f"advice {advice.pk}"]

    assert day.on >= TODAY + 4 * DAY
    assert 13 * 60 <= stop.begins < stop.ends <= 16 * 60


def test_only_an_equipped_crew_is_sent_and_its_own_output_counts(firm, crew):
    place(firm.site)
    CrewMethod.objects.create(crew=crew, method="broom")
    other = CrewFactory(organisation=firm.organisation, name="Two", latitude_deg=0.4, longitude_deg=0.2)
    CrewMethod.objects.create(crew=other, method="vacuum", output_m2_h=firm.surface.area_m2)
    advice = advise(firm.surface)

    day, stop = stops(planned(firm))[f"advice {advice.pk}"]

    assert day.crew == other.pk
    assert stop.minutes == 15 + 60


def test_work_of_more_than_a_day_takes_days_in_a_row(firm, crew):
    place(firm.site)
    CrewMethod.objects.create(crew=crew, method="vacuum", output_m2_h=firm.surface.area_m2 / 20)
    advice = advise(firm.surface, saves="90000.00")

    plan = planned(firm)

    days = [day for day in plan.result.days if day.stops]
    assert len(days) == 3
    assert {stop.key for day in days for stop in day.stops} == {f"advice {advice.pk}"}
    assert sum(stop.minutes for day in days for stop in day.stops) >= 20 * 60


def test_what_is_out_of_season_waits_for_its_months(firm, crew):
    month, after = TODAY.month, TODAY.month % 12 + 1
    place(firm.site)
    firm.site.frost_months = Months((month, after))
    firm.site.save()
    advise(firm.surface)

    plan = planned(firm)

    assert [left.why for left in plan.result.left] == [Why.CREW_AWAY]


def test_a_restoration_that_wants_a_persons_word_is_left_and_says_so(firm, crew):
    place(firm.site)
    grounds = Grounds(1, ("Because.",), saves=Decimal(5000), wants_word=True)
    advise(firm.surface, "rejoint", "joint_refill", grounds=grounds)

    assert [left.why for left in planned(firm).result.left] == [Why.UNDECIDED]


def test_what_lies_too_far_for_what_it_is_worth_is_left(firm, crew):
    place(firm.site, 0.9, 0.2)
    advise(firm.surface, "test", "", saves=None)

    (left,) = planned(firm).result.left

    assert left.why is Why.DRIVE
    assert left.drive_cost > left.worth


def test_a_visit_on_a_day_off_is_named_as_a_conflict(firm, crew):
    place(firm.site)
    sunday = TODAY + (7 - TODAY.isoweekday()) * DAY
    visit = VisitFactory(crew=crew, organisation=firm.organisation, visit_on=sunday)
    VisitTaskFactory(visit=visit, surface=firm.surface, action="test")

    assert [left.why for left in planned(firm).result.left] == [Why.DAY_OFF]


def test_sites_without_coordinates_are_planned_by_guess_and_named(firm, crew):
    advice = advise(firm.surface)

    plan = planned(firm)

    assert f"advice {advice.pk}" in stops(plan)
    assert plan.result.without_place == (str(firm.site),)


def test_a_firm_without_crews_is_told_for_each_piece_of_work(firm):
    advise(firm.surface)

    plan = planned(firm)

    assert plan.result.days == ()
    assert [left.why for left in plan.result.left] == [Why.NO_CREW]


def test_the_work_of_other_firms_and_removed_surfaces_stays_out(firm, crew):
    advise(SurfaceFactory())
    advise(SurfaceFactory(site=firm.site, removed_on=TODAY - DAY))

    assert planned(firm).result == WorkPlanResult((), (), 0, 0.0, (), Booked(0, 0.0, 0, 0))


def test_the_same_seed_gives_the_same_plan(firm, crew):
    for i in range(12):
        site = SiteFactory(owner=firm.owner)
        place(site, 0.3 + 0.02 * (i % 5), 0.15 + 0.03 * (i % 4))
        advise(SurfaceFactory(site=site))

    first, again = planned(firm, seed=7), planned(firm, seed=7)

    assert first.result == again.result


def test_a_day_in_the_past_is_refused(firm):
    plan = WorkPlan(organisation=firm.organisation, first_on=TODAY - DAY)

    with refused(ValidationError, "is in the past", beside="first_on"):
        work_plans.request_plan(plan=plan)

    assert not WorkPlan.objects.exists()


def test_a_search_that_is_to_stop_ends_with_the_best_so_far(firm, crew, monkeypatch):
    place(firm.site)
    advice = advise(firm.surface)
    plan = work_plans.request_plan(
        plan=WorkPlan(organisation=firm.organisation, first_on=TODAY, made_by=firm.coordinator)
    )
    work_plans.ask_to_stop(plan=plan)

    jobs.run(WorkPlan._meta.label, plan.pk)

    plan.refresh_from_db()
    assert plan.state == JobState.DONE
    assert f"advice {advice.pk}" in stops(plan)


def test_accepted_days_become_visits_and_their_advice_is_planned(firm, crew):
    place(firm.site)
    advice = advise(firm.surface)
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    plan = planned(firm)
    (day,) = plan.result.days

    count = work_plans.accept_days(plan=plan, days=[day], by=firm.coordinator)

    assert count == 2
    visit = Visit.objects.get()
    assert (visit.crew, visit.visit_on, visit.planned_by) == (crew, day.on, firm.coordinator)
    assert {task.recommendation or task.inspection_finding for task in visit.tasks.all()} == {advice, finding}
    advice.refresh_from_db()
    assert advice.status == "planned"
    plan.refresh_from_db()
    assert plan.result.days[0].accepted
    assert work_plans.accept_days(plan=plan, days=list(plan.result.days), by=firm.coordinator) == 0


def test_days_that_were_not_chosen_stay_proposals(firm, crew):
    place(firm.site)
    for _ in range(6):
        advise(SurfaceFactory(site=firm.site, area_m2=9000))
    plan = planned(firm)
    first, *rest = plan.result.days

    work_plans.accept_days(plan=plan, days=[first], by=firm.coordinator)

    plan.refresh_from_db()
    assert rest
    assert [day.accepted for day in plan.result.days] == [True] + [False] * len(rest)
    assert Visit.objects.count() == 1


def test_where_somebody_planned_it_meanwhile_nothing_is_accepted(firm, crew):
    place(firm.site)
    advice, other = advise(firm.surface), advise(SurfaceFactory(site=firm.site))
    plan = planned(firm)
    Recommendation.objects.filter(pk=other.pk).update(status="declined")

    with refused(AlreadyDoneError, "already declined"):
        work_plans.accept_days(plan=plan, days=list(plan.result.days), by=firm.coordinator)

    assert not VisitTask.objects.exists()
    advice.refresh_from_db()
    assert advice.is_open
    plan.refresh_from_db()
    assert not plan.result.days[0].accepted


def test_a_day_that_was_changed_meanwhile_is_not_accepted_unseen(firm, crew):
    place(firm.site)
    advice = advise(firm.surface)
    plan = planned(firm)
    (seen,) = plan.result.days
    to = next(d for d in (TODAY + i * DAY for i in range(1, 9)) if d.isoweekday() <= 5 and d != seen.on)
    work_plans.move_work(plan=plan, key=f"advice {advice.pk}", crew=crew, on=to)

    with refused(NotAllowedNowError, "was changed or accepted meanwhile"):
        work_plans.accept_days(plan=plan, days=[seen], by=firm.coordinator)

    assert not VisitTask.objects.exists()


def test_a_visit_of_a_crew_that_lost_its_method_is_named_and_the_rest_is_planned(firm, crew):
    place(firm.site)
    visit = VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY + DAY)
    VisitTaskFactory(visit=visit, surface=firm.surface, action="clean", method="vacuum")
    CrewMethod.objects.create(crew=crew, method="broom")
    advice = advise(SurfaceFactory(site=firm.site), "inspect", "")

    plan = planned(firm, tests_beside="both")

    assert set(stops(plan)) == {f"advice {advice.pk}"}
    assert [left.why for left in plan.result.left] == [Why.NOT_EQUIPPED]


def test_work_is_moved_to_another_day_and_both_are_timed_anew(firm, crew):
    place(firm.site)
    first, second = advise(firm.surface), advise(SurfaceFactory(site=firm.site))
    plan = planned(firm)
    key = f"advice {first.pk}"
    before = stops(plan)[key][0].on
    to = next(
        TODAY + i * DAY
        for i in range(14)
        if (TODAY + i * DAY).isoweekday() <= 5 and TODAY + i * DAY != before
    )

    work_plans.move_work(plan=plan, key=key, crew=crew, on=to)

    plan.refresh_from_db()
    assert stops(plan)[key][0].on == to
    assert stops(plan)[f"advice {second.pk}"][0].on == before
    assert [day.on for day in plan.result.days] == sorted([before, to])


def test_work_that_was_left_out_can_be_put_on_a_day(firm, crew):
    place(firm.site, 0.9, 0.2)
    advice = advise(firm.surface, "test", "", saves=None)
    plan = planned(firm)
    monday = TODAY + (8 - TODAY.isoweekday()) * DAY

    work_plans.move_work(plan=plan, key=f"advice {advice.pk}", crew=crew, on=monday)

    plan.refresh_from_db()
    assert plan.result.left == ()
    assert stops(plan)[f"advice {advice.pk}"][0].on == monday


def test_a_move_that_does_not_fit_is_refused_in_words_and_changes_nothing(firm, crew):
    place(firm.site)
    advice = advise(firm.surface)
    plan = planned(firm)
    sunday = TODAY + (7 - TODAY.isoweekday()) * DAY

    with refused(ValidationError, "does not fit One on", beside="on"):
        work_plans.move_work(plan=plan, key=f"advice {advice.pk}", crew=crew, on=sunday)

    before = plan.result
    plan.refresh_from_db()
    assert plan.result == before


@pytest.mark.parametrize("what", ["declined", "accepted", "settled", "unknown"])
def test_what_is_not_to_be_moved_any_more_says_why(firm, crew, what):
    place(firm.site)
    advice = advise(firm.surface)
    task = VisitTaskFactory(
        visit=VisitFactory(crew=crew, organisation=firm.organisation, visit_on=TODAY + DAY),
        surface=firm.surface,
        action="test",
    )
    plan = planned(firm)
    key, error, said = f"advice {advice.pk}", NotAllowedNowError, "on a visit already"
    if what == "declined":
        Recommendation.objects.filter(pk=advice.pk).update(status="declined")
        said = "not to be planned any more"
    elif what == "accepted":
        work_plans.accept_days(plan=plan, days=list(plan.result.days), by=firm.coordinator)
        said = "not to be planned any more"
    elif what == "settled":
        key = f"task {task.pk}"
    else:
        key, error, said = "advice of nobody", ValidationError, "is not in the plan any more"

    with refused(error, said):
        work_plans.move_work(plan=plan, key=key, crew=crew, on=TODAY + 5 * DAY)


def test_an_unfinished_plan_is_neither_accepted_nor_moved(firm, crew):
    plan = WorkPlan.objects.create(organisation=firm.organisation, first_on=TODAY)

    with refused(NotAllowedNowError, "still being made"):
        work_plans.accept_days(plan=plan, days=[], by=firm.coordinator)
    with refused(NotAllowedNowError, "still being made"):
        work_plans.move_work(plan=plan, key="x", crew=crew, on=TODAY)


def test_a_plan_that_the_checker_refuses_is_not_stored(firm, crew, monkeypatch):
    place(firm.site)
    advise(firm.surface)
    monkeypatch.setattr("planning.services.work_plans.faults", lambda *_: ["A wheel is missing."])
    plan = work_plans.request_plan(
        plan=WorkPlan(organisation=firm.organisation, first_on=TODAY, made_by=firm.coordinator)
    )

    for _ in range(WorkPlan.MOST_ATTEMPTS):
        with pytest.raises(ValueError, match="A wheel is missing"):
            jobs.run(WorkPlan._meta.label, plan.pk)

    plan.refresh_from_db()
    assert (plan.state, plan.result) == (JobState.FAILED, None)
