"""Which steps change a surface's record: the version rises with them, and who listens is told once they are stored."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import transaction

from core.calc.months import Months
from maintenance.models import CleaningEvent
from maintenance.services import cleanings
from planning.models import Agreement
from planning.services import visits
from planning.services.agreements import save_agreement
from qa.models import Inspection, InspectionFinding, Layer, Location, Remedy, SourceChange, TestRound
from qa.services import inspections, limits, register, rounds
from qa.services.changes import bump_record_version, record_changed
from qa.services.inspections import Found
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    InspectionFactory,
    InspectionFindingFactory,
    LocationFactory,
    OwnLimitFactory,
    RemedyFactory,
    RoundFactory,
    SourceChangeFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.qa.services.test_refused_rounds import test_of as readings_of
from tests.refusals import nudges, version_of

DAY = date(2024, 6, 1)
WHY = "Misread."


def record_a_test(firm):
    round_ = RoundFactory(surface=firm.surface)
    return lambda: rounds.record_test(test=readings_of(round_), by=firm.technician)


def correct_a_test(firm):
    old = InfiltrationTestFactory(round__surface=firm.surface)
    return lambda: rounds.correct_test(old=old, new=readings_of(old.round), by=firm.technician, reason=WHY)


def set_a_test_aside(firm):
    test = InfiltrationTestFactory(round__surface=firm.surface)
    return lambda: rounds.void_test(test=test, by=firm.technician, reason=WHY)


def amend_a_round(firm):
    round_ = RoundFactory(surface=firm.surface)
    return lambda: rounds.amend_round(round_=round_, reason=WHY)


def set_a_round_aside(firm):
    round_ = RoundFactory(surface=firm.surface)
    return lambda: rounds.void_round(round_=round_, by=firm.technician, reason=WHY)


def record_an_inspection(firm):
    inspection = Inspection(surface=firm.surface, inspected_on=DAY)
    return lambda: inspections.record_inspection(inspection=inspection, by=firm.technician)


def set_an_inspection_aside(firm):
    inspection = InspectionFactory(surface=firm.surface)
    return lambda: inspections.void_inspection(inspection=inspection, by=firm.technician, reason=WHY)


def add_a_finding(firm):
    finding = InspectionFinding(
        inspection=InspectionFactory(surface=firm.surface), item="edges", what="Gap", severity="soon"
    )
    return lambda: inspections.add_finding(found=Found(finding), by=firm.technician)


def correct_a_finding(firm):
    old = InspectionFindingFactory(inspection__surface=firm.surface)
    new = InspectionFinding(what="Soil along the bed", severity="urgent")
    return lambda: inspections.correct_finding(old=old, new=new, by=firm.technician, reason=WHY)


def set_a_finding_aside(firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    return lambda: inspections.void_finding(finding=finding, by=firm.technician, reason=WHY)


def close_a_finding(firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    remedy = Remedy(finding=finding, done_on=DAY, what="Swept.", done_by="Crew 1")
    return lambda: inspections.record_remedy(remedy=remedy, by=firm.technician)


def open_a_finding_again(firm):
    remedy = RemedyFactory(finding__inspection__surface=firm.surface)
    return lambda: inspections.void_remedy(remedy=remedy, by=firm.technician, reason=WHY)


def change_a_source(firm):
    change = SourceChange(surface=firm.surface, changed_on=DAY, kind="started", source="Bed", what="Dug over")
    return lambda: inspections.record_source_change(change=change, by=firm.technician)


def set_a_source_change_aside(firm):
    change = SourceChangeFactory(surface=firm.surface)
    return lambda: inspections.void_source_change(change=change, by=firm.technician, reason=WHY)


def record_a_cleaning(firm):
    event = CleaningEvent(surface=firm.surface, cleaned_on=DAY, method="vacuum")
    return lambda: cleanings.record_cleaning(event=event, by=firm.technician)


def correct_a_cleaning(firm):
    old = CleaningFactory(surface=firm.surface)
    new = CleaningEvent(cleaned_on=DAY, method="broom")
    return lambda: cleanings.correct_cleaning(old=old, new=new, by=firm.technician, reason=WHY)


def set_a_cleaning_aside(firm):
    event = CleaningFactory(surface=firm.surface)
    return lambda: cleanings.void_cleaning(event=event, by=firm.technician, reason=WHY)


def store_locations(firm):
    where = Location(label="A", zone="edge")
    return lambda: register.save_locations(surface=firm.surface, locations=[where], removed=[])


def change_the_surface(firm):
    firm.surface.area_m2, firm.surface.agreed_limit_mm_h = 812.0, 254.0
    return lambda: register.save_surface(surface=firm.surface)


def change_the_site(firm):
    firm.site.frost_months = Months((1, 2))
    return lambda: register.save_site(site=firm.site)


def change_the_agreement(firm):
    agreement = Agreement(site=firm.site, tests_per_year=2.0)
    return lambda: save_agreement(agreement=agreement)


def take_a_task_off(firm):
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation))
    task = VisitTaskFactory(visit=visit, surface=firm.surface)
    return lambda: visits.remove_task(task=task)


def call_a_visit_off(firm):
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation))
    VisitTaskFactory(visit=visit, surface=firm.surface)
    return lambda: visits.cancel_visit(visit=visit, reason="Rain.")


def change_its_own_limit(firm):
    own = OwnLimitFactory(organisation=firm.organisation)
    SurfaceFactory(site=firm.site)
    type(firm.surface).objects.filter(pk=firm.surface.pk).update(own_limit=own)
    own.limit_mm_h = 400.0
    return lambda: limits.save_own_limit(own=own)


CHANGES = [
    record_a_test,
    correct_a_test,
    set_a_test_aside,
    amend_a_round,
    set_a_round_aside,
    record_an_inspection,
    set_an_inspection_aside,
    add_a_finding,
    correct_a_finding,
    set_a_finding_aside,
    close_a_finding,
    open_a_finding_again,
    change_a_source,
    set_a_source_change_aside,
    record_a_cleaning,
    correct_a_cleaning,
    set_a_cleaning_aside,
    store_locations,
    change_the_surface,
    change_the_site,
    change_the_agreement,
    take_a_task_off,
    call_a_visit_off,
    change_its_own_limit,
]


@pytest.mark.parametrize("step", CHANGES, ids=lambda step: step.__name__)
def test_a_step_that_changes_the_record_raises_its_version_once_and_tells_after_it_is_stored(
    firm, step, django_capture_on_commit_callbacks
):
    change = step(firm)
    before = version_of(firm.surface)

    with nudges() as told:
        with django_capture_on_commit_callbacks(execute=True) as waiting:
            change()
            told_before_the_commit = list(told)
        assert told == [firm.surface.pk]

    assert told_before_the_commit == []
    assert waiting
    assert version_of(firm.surface) == before + 1


QUIET = {
    "a round without tests": lambda firm: rounds.record_round(
        round_=TestRound(surface=firm.surface, tested_on=DAY, hours_since_rain=48.0), by=firm.technician
    ),
    "layers": lambda firm: register.save_build_up(
        surface=firm.surface,
        layers=[Layer(kind="base", material="stone", thickness_mm=100.0, porosity=0.4)],
        removed=[],
    ),
    "an own limit that the surface does not use": lambda firm: limits.save_own_limit(
        own=OwnLimitFactory(organisation=firm.organisation)
    ),
    "a finished task": lambda firm: visits.finish_task(
        task=VisitTaskFactory(
            visit__crew=CrewFactory(organisation=firm.organisation), surface=firm.surface, action="look"
        ),
        finding="Roots.",
    ),
}


@pytest.mark.parametrize("name", QUIET)
def test_a_step_that_the_forecast_does_not_read_tells_nobody(firm, name, django_capture_on_commit_callbacks):
    before = version_of(firm.surface)

    with nudges() as told, django_capture_on_commit_callbacks(execute=True):
        QUIET[name](firm)

    assert told == []
    assert version_of(firm.surface) == before


def test_what_is_rolled_back_is_told_to_nobody(firm, django_capture_on_commit_callbacks):
    before = version_of(firm.surface)

    def change_mind():
        bump_record_version(firm.surface.pk)
        raise RuntimeError("Not stored after all.")

    with (
        nudges() as told,
        django_capture_on_commit_callbacks(execute=True),
        pytest.raises(RuntimeError, match="after all"),
        transaction.atomic(),
    ):
        change_mind()

    assert told == []
    assert version_of(firm.surface) == before


def test_a_listener_that_fails_takes_nothing_back(firm, django_capture_on_commit_callbacks):
    """A lost nudge is found by the sweep; the record that was stored stays."""

    def fail(**_):
        raise RuntimeError("The queue is down.")

    record_changed.connect(fail)
    try:
        with django_capture_on_commit_callbacks(execute=True):
            event = CleaningEvent(surface=firm.surface, cleaned_on=DAY, method="vacuum")
            cleanings.record_cleaning(event=event, by=firm.technician)
    finally:
        record_changed.disconnect(fail)

    assert CleaningEvent.objects.filter(pk=event.pk).exists()


def test_each_surface_of_a_site_is_told_where_the_site_changes(firm, django_capture_on_commit_callbacks):
    second, elsewhere = SurfaceFactory(site=firm.site), SurfaceFactory()
    before = [version_of(each) for each in (firm.surface, second, elsewhere)]
    firm.site.frost_months = Months((12,))

    with nudges() as told, django_capture_on_commit_callbacks(execute=True):
        register.save_site(site=firm.site)

    assert set(told) == {firm.surface.pk, second.pk}
    after = [version_of(each) for each in (firm.surface, second, elsewhere)]
    assert [now - then for now, then in zip(after, before, strict=True)] == [1, 1, 0]


def test_a_tested_location_that_leaves_is_a_change_too(firm):
    where = LocationFactory(surface=firm.surface)
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), location=where)
    before = version_of(firm.surface)

    register.save_locations(surface=firm.surface, locations=[], removed=[where])

    where.refresh_from_db()
    assert where.retired
    assert version_of(firm.surface) == before + 1


def test_a_repeat_of_a_sending_tells_nobody_a_second_time(firm, django_capture_on_commit_callbacks):
    key = uuid4()

    def send():
        event = CleaningEvent(surface=firm.surface, cleaned_on=DAY, method="vacuum", device_id=key)
        return cleanings.record_cleaning(event=event, by=firm.technician)

    first = send()
    before = version_of(firm.surface)

    with nudges() as told, django_capture_on_commit_callbacks(execute=True):
        second = send()

    assert (second, told, version_of(firm.surface)) == (first, [], before)


def test_a_change_of_one_surface_leaves_its_neighbours_forecast_alone(firm):
    neighbour = SurfaceFactory(site=firm.site)
    before = version_of(neighbour)

    for days in range(3):
        event = CleaningEvent(surface=firm.surface, cleaned_on=DAY + timedelta(days=days), method="vacuum")
        cleanings.record_cleaning(event=event, by=firm.technician)

    assert version_of(neighbour) == before
