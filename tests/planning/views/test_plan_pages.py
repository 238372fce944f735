"""Pages of plans of work and of crews' days, as a coordinator uses them."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from core.services import jobs
from planning.models import CrewAbsence, Visit, WorkPlan
from planning.services.visits import save_visit
from tests.clock import TODAY
from tests.factories import CrewAbsenceFactory, CrewFactory, SurfaceFactory
from tests.planning.services.test_work_plans import advise, place, planned, stops
from tests.sending import as_shown

DAY = timedelta(days=1)


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, name="One", latitude_deg=0.4, longitude_deg=0.2)


def said(answer):
    return [str(message) for message in answer.context["messages"]]


def test_a_plan_is_asked_for_shown_and_accepted(office, firm, crew):
    place(firm.site)
    advise(firm.surface)

    answer = office.post(
        reverse("planning:proposal-create"),
        {"first_on": TODAY.isoformat(), "days": "10", "tests_beside": "advised", "seed": "3"},
    )
    plan = WorkPlan.objects.get()
    assert answer.url == plan.get_absolute_url()
    jobs.run(WorkPlan._meta.label, plan.pk)
    page = office.get(answer.url).content.decode()
    assert "Clean: vacuum sweeping" in page
    assert str(firm.surface) in page
    plan.refresh_from_db()
    days = [day.key for day in plan.result.days]
    done = office.post(reverse("planning:proposal-accept", args=[plan.pk]), {"days": days}, follow=True)

    assert said(done) == ["1 day accepted: 1 task put on visits."]
    assert Visit.objects.get().crew == crew
    assert "Accept the days" not in done.content.decode()


def test_while_it_is_made_the_page_says_how_far_it_is_and_can_stop_it(office, firm):
    plan = WorkPlan.objects.create(organisation=firm.organisation, first_on=TODAY, state="running")

    page = office.get(plan.get_absolute_url()).content.decode()
    assert "data-ask-again" in page
    assert "Stop with the best so far" in page
    office.post(reverse("planning:proposal-stop", args=[plan.pk]))

    plan.refresh_from_db()
    assert plan.stop_asked


def test_a_plan_that_failed_says_so_and_one_of_another_edition_too(office, firm):
    failed = WorkPlan.objects.create(
        organisation=firm.organisation, first_on=TODAY, state="failed", error="It was begun too often."
    )
    older = WorkPlan.objects.create(
        organisation=firm.organisation, first_on=TODAY, state="done", result_json={"schema": 99}
    )

    assert "It was begun too often." in office.get(failed.get_absolute_url()).content.decode()
    assert "another edition" in office.get(older.get_absolute_url()).content.decode()


def test_nothing_ticked_and_a_day_that_is_gone_are_told(office, firm, crew):
    place(firm.site)
    advise(firm.surface)
    plan = planned(firm)
    url = reverse("planning:proposal-accept", args=[plan.pk])

    assert said(office.post(url, follow=True)) == ["Choose at least one day."]
    assert said(office.post(url, {"days": "2020-01-01 x"}, follow=True)) == [
        "That day is not in the plan any more."
    ]
    assert not Visit.objects.exists()


def test_work_is_moved_by_the_form_beside_it(office, firm, crew):
    place(firm.site)
    advice = advise(firm.surface)
    plan = planned(firm)
    key = f"advice {advice.pk}"
    to = next(d for d in (TODAY + i * DAY for i in range(3, 9)) if d.isoweekday() <= 5)
    url = reverse("planning:proposal-move", args=[plan.pk])

    done = office.post(url, {"key": key, "crew": crew.pk, "on": to.isoformat()}, follow=True)

    assert "Both days are timed anew." in said(done)[0]
    plan.refresh_from_db()
    assert stops(plan)[key][0].on == to
    for wrong in ({"on": "x"}, {"crew": CrewFactory().pk}):
        sent = {"key": key, "crew": crew.pk, "on": to.isoformat()} | wrong
        assert said(office.post(url, sent, follow=True))[0]
    plan.refresh_from_db()
    assert stops(plan)[key][0].on == to


def test_what_was_left_out_says_why_in_words(office, firm, crew):
    place(firm.site, 0.9, 0.2)
    advise(firm.surface, "test", "", saves=None)

    page = office.get(planned(firm).get_absolute_url()).content.decode()

    assert (
        "The drive, or a crew that is dearer than the firm&#x27;s own, would cost more than waiting" in page
    )


def test_a_board_reads_the_same_number_of_rows_however_much_is_on_it(
    office, firm, crew, django_assert_max_num_queries
):
    place(firm.site)
    for _ in range(12):
        advise(SurfaceFactory(site=firm.site))
    plan = planned(firm)

    with django_assert_max_num_queries(12):
        office.get(plan.get_absolute_url())


def test_a_crews_days_depot_and_equipment_are_entered(office, crew):
    url = reverse("planning:crew-work", args=[crew.pk])
    sent = {
        "weekdays": ["1", "3"],
        "starts_at": "06:30",
        "hours_a_day": "9",
        "depot": "Yard",
        "latitude_deg": "0.5",
        "longitude_deg": "0.3",
        "hour_cost": "70",
        "km_cost": "0.80",
        "vacuum-can": "on",
        "vacuum-output": "1800",
    }

    answer = office.post(url, sent)

    assert answer.url == crew.get_absolute_url()
    crew.refresh_from_db()
    assert crew.weekdays.numbers == (1, 3)
    assert crew.shift_min == (390, 930)
    assert [(row.method, row.output_m2_h) for row in crew.methods.all()] == [("vacuum", 1800)]
    page = office.get(crew.get_absolute_url()).content.decode()
    assert "Monday, Wednesday" in page
    assert "Vacuum sweeping, 1800 m²/h" in page
    again = office.post(url, {k: v for k, v in sent.items() if not k.startswith("vacuum")})
    assert again.status_code == 302
    assert not crew.methods.exists()


def test_an_output_without_the_equipment_is_refused(office, crew):
    url = reverse("planning:crew-work", args=[crew.pk])

    answer = office.post(
        url, {"starts_at": "07:00", "hours_a_day": "8", "hour_cost": "1", "km_cost": "1", "mill-output": "5"}
    )

    assert "Tick milling" in str(answer.context["form"].errors["mill-can"])


def test_days_away_are_entered_and_taken_back(office, crew):
    url = reverse("planning:absence-create", args=[crew.pk])

    office.post(url, {"first_on": "2031-06-02", "last_on": "2031-06-04", "reason": "Holiday"})
    absence = CrewAbsence.objects.get()
    assert "Holiday" in office.get(crew.get_absolute_url()).content.decode()
    refused = office.post(url, {"first_on": "2031-06-02", "last_on": "2031-06-01"})
    assert "cannot end before it begins" in refused.content.decode()
    office.post(reverse("planning:absence-remove", args=[absence.pk]))

    assert not CrewAbsence.objects.exists()
    assert CrewAbsenceFactory(crew=crew).crew == crew


def test_the_board_shows_the_route_of_the_day_that_is_chosen(office, firm, crew):
    place(firm.site)
    advise(firm.surface)
    plan = planned(firm)
    day = plan.result.days[0]

    page = office.get(plan.get_absolute_url(), {"day": day.key}).content.decode()

    assert f"From the depot to 1 {firm.site.name}, and back." in page
    assert 'role="img"' in page
    assert f'<option value="{day.key}" selected>' in page
    assert "Route of a day" in office.get(plan.get_absolute_url(), {"day": "gone"}).content.decode()


def test_an_accepted_day_gives_its_times_to_the_tasks_and_another_day_takes_them(office, firm, crew):
    place(firm.site)
    advise(firm.surface)
    plan = planned(firm)
    (stop,) = plan.result.days[0].stops
    office.post(reverse("planning:proposal-accept", args=[plan.pk]), {"days": [plan.result.days[0].key]})
    visit = Visit.objects.get()
    task = visit.tasks.get()
    assert (task.begins_min, task.ends_min) == (stop.begins, stop.ends)

    visit.visit_on += 7 * DAY
    save_visit(visit=visit)

    task.refresh_from_db()
    assert (task.begins_min, task.ends_min) == (None, None)


@pytest.mark.parametrize(("units", "shown"), [("us", ("2000", "0.25")), ("si", ("185.80608", "2.691"))])
def test_output_and_price_of_a_crew_are_typed_by_the_readers_units(office, firm, crew, units, shown):
    """2,000 ft²/h are 185.80608 m²/h, and 0.25 a ft² is 2.6910 a m²."""
    firm.coordinator.units = units
    firm.coordinator.save()
    url = reverse("planning:crew-work", args=[crew.pk])
    sent = as_shown(office.get(url).content.decode()) | {"vacuum-can": "on"}
    output, cost = shown

    answer = office.post(url, sent | {"vacuum-output": output, "vacuum-cost": cost})
    row = crew.methods.get()
    again = as_shown(office.get(url).content.decode())
    office.post(url, again | {"hour_cost": "71"})

    assert answer.url == crew.get_absolute_url()
    assert row.output_m2_h == pytest.approx(185.80608)
    assert row.cost_per_m2 == Decimal("2.6910")
    assert (again["vacuum-output"], again["vacuum-cost"]) == ([output], [cost])
    kept = crew.methods.get()
    assert (kept.output_m2_h, kept.cost_per_m2) == (row.output_m2_h, row.cost_per_m2)
