"""What falls due because it was built or agreed: its day, its reason, and that it goes once it is done.

The months and days are common practice, no source.
"""

import random
from datetime import datetime, time, timedelta

import pytest
from django.urls import reverse
from django.utils.timezone import now

from core.calc.format import day
from core.calc.months import months_after
from maintenance.models import Recommendation
from planning.models import Agreement
from planning.selectors import due_work as selector
from planning.selectors.due_work import due_work
from qa.models import Surface
from tests.clock import START, TODAY
from tests.factories import (
    BECAUSE,
    CheckEntryFactory,
    CleaningFactory,
    ConstructionCheckFactory,
    ConstructionRecordFactory,
    InfiltrationTestFactory,
    InspectionFindingFactory,
    RoundFactory,
    SurfaceFactory,
)

DAY = timedelta(days=1)


def found(firm, kind, later=0):
    """What the firm reads of one kind, so many days from now."""
    work = due_work(firm.viewer, firm.organisation, now() + later * DAY)
    return [(one.due.on, one.due.why) for one in work if one.due.kind == kind]


def make_test(surface, on):
    return InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=on))


def opened(firm, on, **changes):
    Surface.objects.filter(pk=firm.surface.pk).update(opened_on=on, **changes)
    firm.surface.refresh_from_db()
    return firm.surface


@pytest.fixture
def record(firm):
    opened(firm, TODAY + 20 * DAY)
    return ConstructionRecordFactory(surface=firm.surface)


def check_of(record, **changes):
    return ConstructionCheckFactory(record=record, **changes)


def test_a_failed_hold_point_is_due_since_it_failed_and_says_when_the_surface_opens(firm, record):
    check = check_of(record, hold_point=True)
    failed = CheckEntryFactory(construction_check=check, outcome="failed", done_on=TODAY - 3 * DAY)

    ((on, why),) = found(firm, "hold_point")

    assert on == TODAY - 3 * DAY
    assert f"The surface opens in 20 days, on {day(TODAY + 20 * DAY)}." in why

    CheckEntryFactory(construction_check=check, outcome="passed", rechecks=failed)
    assert found(firm, "hold_point") == []


def test_a_hold_point_waived_after_it_failed_holds_nothing_up(firm, record):
    check = check_of(record, hold_point=True)
    CheckEntryFactory(construction_check=check, outcome="failed")
    CheckEntryFactory(construction_check=check, outcome="waived", reason="Agreed.")

    assert found(firm, "hold_point") == []


def test_a_failed_check_that_is_no_hold_point_stops_nothing(firm, record):
    CheckEntryFactory(construction_check=check_of(record), outcome="failed")

    assert found(firm, "hold_point") == []


@pytest.mark.parametrize(
    ("unit", "least", "laid", "until", "too_early"),
    [("d", 7.0, 2, 5, False), ("h", 24.0, 2, -1, False), ("h", 25.0, 2, 0, False), ("d", 28.0, 2, 26, True)],
)
def test_a_cure_is_due_so_long_after_the_course_was_laid(firm, record, unit, least, laid, until, too_early):
    laying = check_of(record, stage="surface")
    CheckEntryFactory(construction_check=laying, outcome="passed", done_on=TODAY - laid * DAY)
    cure = check_of(record, stage="cure", unit=unit, least=least, asked="Closed to traffic.")

    ((on, why),) = found(firm, "cure")

    assert on == TODAY + until * DAY
    assert ("is too early" in why) is too_early

    CheckEntryFactory(construction_check=cure, outcome="passed", reading=least)
    assert found(firm, "cure") == []


def test_a_cure_whose_laying_nobody_recorded_is_due_at_the_opening(firm, record):
    check_of(record, stage="cure", unit="d", least=7.0)

    assert [on for on, _ in found(firm, "cure")] == [TODAY + 20 * DAY]


@pytest.mark.parametrize(
    ("opens_in", "shown"), [(-365, True), (-366, False), (0, True), (60, True), (61, False)]
)
def test_the_first_test_is_due_at_the_opening(firm, opens_in, shown):
    opened(firm, TODAY + opens_in * DAY)

    days = [on for on, _ in found(firm, "first_test")]

    assert days == ([TODAY + opens_in * DAY] if shown else [])


def test_the_first_test_goes_once_it_is_made_or_advised(firm):
    surface = opened(firm, TODAY - 5 * DAY)
    advice = Recommendation.objects.create(
        surface=surface, action="test", due_on=TODAY, earliest_on=TODAY, currency="EUR", grounds=BECAUSE
    )
    assert found(firm, "first_test") == []
    advice.delete()
    assert len(found(firm, "first_test")) == 1

    make_test(surface, TODAY)

    assert found(firm, "first_test") == []


def test_a_test_that_does_not_count_is_no_first_test(firm):
    """It rained two hours before, which voids it."""
    surface = opened(firm, TODAY - 5 * DAY)
    wet = RoundFactory(surface=surface, tested_on=TODAY, hours_since_rain=2.0)

    InfiltrationTestFactory(round=wet)

    assert len(found(firm, "first_test")) == 1


def test_joints_are_topped_up_half_a_year_after_the_opening(firm):
    surface = opened(firm, months_after(TODAY, -6) + 30 * DAY)
    due_on = months_after(surface.opened_on, 6)

    assert [on for on, _ in found(firm, "top_up")] == [due_on]
    assert found(firm, "top_up", later=-40) == []
    assert "common practice" in found(firm, "top_up")[0][1]

    CleaningFactory(surface=surface, cleaned_on=TODAY, method="vacuum", material_in="2-5 mm chip")
    assert found(firm, "top_up") == []


@pytest.mark.parametrize("kind", ["porous_asphalt", "pervious_concrete", "resin_bound"])
def test_a_surface_without_joints_is_not_topped_up(firm, kind):
    opened(firm, months_after(TODAY, -6), surface_type=kind)

    assert found(firm, "top_up") == []


def test_a_test_is_due_before_the_guarantee_ends_with_the_defects_noted_within_it(firm):
    surface = opened(firm, months_after(TODAY, -24) + 40 * DAY, guarantee_months=24)
    ends = surface.guarantee_ends_on
    InspectionFindingFactory(inspection__surface=surface, inspection__inspected_on=TODAY - 30 * DAY)

    ((on, why),) = found(firm, "guarantee")

    assert on == ends - 30 * DAY
    assert f"ends on {day(ends)}, with 1 defect noted within it" in why
    assert found(firm, "guarantee", later=-60) == []
    assert found(firm, "guarantee", later=80) == []

    make_test(surface, ends - 90 * DAY)
    assert found(firm, "guarantee") == []


def test_a_test_long_before_the_end_of_the_guarantee_does_not_answer_it(firm):
    surface = opened(firm, months_after(TODAY, -24) + 20 * DAY, guarantee_months=24)
    make_test(surface, surface.guarantee_ends_on - 91 * DAY)

    assert len(found(firm, "guarantee")) == 1


@pytest.mark.parametrize("renews", [True, False])
def test_the_notice_day_of_an_agreement_is_due(firm, renews):
    agreement = Agreement.objects.create(
        site=firm.site, tests_per_year=1, until=TODAY + 90 * DAY, notice_days=60, renews=renews
    )

    ((on, why),) = found(firm, "notice")

    assert on == TODAY + 30 * DAY
    assert ("renews by itself for a year" in why) is renews
    # A notice that was not given renews the term; an agreement that runs out stays to be decided.
    assert bool(found(firm, "notice", later=31)) is not renews

    Agreement.objects.filter(pk=agreement.pk).update(until=TODAY + 800 * DAY)
    assert found(firm, "notice") == []


def test_nothing_is_due_on_a_surface_that_is_gone_or_anothers(firm):
    stranger = SurfaceFactory(opened_on=TODAY)
    opened(firm, TODAY - 100 * DAY, removed_on=TODAY)

    assert not due_work(firm.viewer, firm.organisation, now())
    assert not due_work(firm.outsider, stranger.site.organisation, now())


@pytest.mark.parametrize("surfaces", [1, 8])
def test_many_surfaces_ask_the_database_as_often_as_one(firm, surfaces, django_assert_num_queries):
    for _ in range(surfaces):
        one = SurfaceFactory(site=firm.site, opened_on=TODAY, guarantee_months=1)
        check = ConstructionCheckFactory(record=ConstructionRecordFactory(surface=one), hold_point=True)
        CheckEntryFactory(construction_check=check, outcome="failed")

    with django_assert_num_queries(6):
        due_work(firm.viewer, firm.organisation, now())


@pytest.mark.parametrize(("person", "buttons"), [("viewer", 0), ("technician", 1), ("coordinator", 2)])
def test_the_first_page_shows_what_is_due_with_its_button_to_who_may(client, firm, person, buttons):
    opened(firm, TODAY - 2 * DAY)
    Agreement.objects.create(site=firm.site, tests_per_year=1, until=TODAY + 60 * DAY)
    client.force_login(getattr(firm, person))

    page = client.get(reverse("reporting:start")).content.decode()

    assert "Due by construction and agreement" in page
    assert page.count("Record a test") + page.count("Open the agreement") == buttons


def test_the_day_is_told_by_the_clock_at_the_site(firm):
    """What falls due at midnight of the site is late there, whatever the day is elsewhere."""
    opened(firm, TODAY + DAY)
    at = datetime.combine(TODAY + DAY, time(0, 30), tzinfo=now().tzinfo)

    (work,) = [one for one in due_work(firm.viewer, firm.organisation, at) if one.due.kind == "first_test"]

    assert work.today == firm.site.today(at)
    assert work.is_late is (work.today >= TODAY + DAY)


@pytest.mark.parametrize("seed", range(12))
def test_the_surfaces_that_are_not_read_have_nothing_due(firm, seed, monkeypatch):
    """Only young surfaces and those near the end of a guarantee are read: against reading every one."""
    draw = random.Random(seed)
    for _ in range(30):
        opened = TODAY - timedelta(days=draw.randint(-100, 1500))
        SurfaceFactory(
            site=firm.site,
            surface_type=draw.choice(["picp", "porous_asphalt"]),
            opened_on=opened,
            guarantee_months=draw.choice([None, 12, 24, 36]),
            guarantee_from=draw.choice([None, opened + timedelta(days=draw.randint(0, 200))]),
        )

    few = due_work(firm.viewer, firm.organisation, START)
    monkeypatch.setattr(selector, "_with_guarantee_or_young", lambda surfaces, at: surfaces)

    assert [(work.due, work.place) for work in few] == [
        (work.due, work.place) for work in due_work(firm.viewer, firm.organisation, START)
    ]
    assert few
