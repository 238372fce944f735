"""What inspections, findings, remedies and changes of source refuse, and that nothing is stored then."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError

from core.errors import AlreadyDoneError, NotAllowedNowError
from qa.calc.drain_down import WellReading, WellReadings
from qa.calc.inspections import Answer, Checklist, FindingState, InspectionItem, Severity
from qa.models import Inspection, InspectionFinding, Remedy, SourceChange
from qa.services import inspections
from qa.services.inspections import Found
from tests.factories import (
    InspectionFactory,
    InspectionFindingFactory,
    RemedyFactory,
    SourceChangeFactory,
    SurfaceFactory,
)
from tests.refusals import FAR_AHEAD, refused

DAY = date(2024, 6, 1)
WHY = "Wrong surface."


@pytest.fixture
def finding(firm):
    return InspectionFindingFactory(inspection__surface=firm.surface)


def inspection_of(surface, *levels, **fields):
    row = Inspection(surface=surface, **{"inspected_on": DAY} | fields)
    row.well = WellReadings(tuple(WellReading(hours, water) for hours, water in levels))
    return row


def remedy_of(finding, **fields):
    return Remedy(finding=finding, **{"done_on": DAY, "what": "Swept.", "done_by": "Crew 1"} | fields)


def change_of(surface, **fields):
    values = {"changed_on": DAY, "kind": "stopped", "source": "Bed", "what": "Kerb set"}
    return SourceChange(surface=surface, **values | fields)


def record(firm, inspection, *found):
    return inspections.record_inspection(inspection=inspection, found=found, by=firm.technician)


# ---- Days ----------------------------------------------------------------------------------------

STEPS_WITH_A_DAY = {
    "inspected_on": lambda firm, finding, day: record(firm, inspection_of(firm.surface, inspected_on=day)),
    "done_on": lambda firm, finding, day: inspections.record_remedy(
        remedy=remedy_of(finding, done_on=day), by=firm.technician
    ),
    "changed_on": lambda firm, finding, day: inspections.record_source_change(
        change=change_of(firm.surface, changed_on=day), by=firm.technician
    ),
}


@pytest.mark.parametrize("field", STEPS_WITH_A_DAY)
def test_a_day_to_come_is_refused_beside_its_field(firm, finding, field):
    with refused(ValidationError, FAR_AHEAD, "Enter the day it was.", beside=field):
        STEPS_WITH_A_DAY[field](firm, finding, FAR_AHEAD)


CORRECTED = {
    "done_on": STEPS_WITH_A_DAY["done_on"],
    "changed_on": lambda firm, finding, day: inspections.record_source_change(
        change=change_of(firm.surface, changed_on=day, finding=finding), by=firm.technician
    ),
}


@pytest.mark.parametrize("field", CORRECTED)
def test_nothing_is_corrected_before_it_was_found(firm, finding, field):
    found_on = finding.inspection.inspected_on
    day = found_on - timedelta(days=1)

    with refused(ValidationError, day, found_on, "Check the day", beside=field):
        CORRECTED[field](firm, finding, day)
    CORRECTED[field](firm, finding, found_on)
    assert not InspectionFinding.objects.to_do().exists()


@pytest.mark.parametrize("field", STEPS_WITH_A_DAY)
def test_a_day_before_the_opening_is_refused_with_both_days(firm, finding, field):
    opened = firm.surface.opened_on
    day = opened - timedelta(days=1)

    with refused(ValidationError, day, opened, "Check both dates.", beside=field):
        STEPS_WITH_A_DAY[field](firm, finding, day)


@pytest.mark.parametrize("field", STEPS_WITH_A_DAY)
def test_the_day_of_the_opening_itself_is_taken(firm, finding, field):
    Inspection.objects.filter(pk=finding.inspection_id).update(inspected_on=firm.surface.opened_on)
    finding.inspection.refresh_from_db()

    stored = STEPS_WITH_A_DAY[field](firm, finding, firm.surface.opened_on)

    assert getattr(stored, field) == firm.surface.opened_on


# ---- Inspections ---------------------------------------------------------------------------------


def test_each_item_marked_as_wrong_needs_a_finding_of_its_own(firm):
    inspection = inspection_of(firm.surface)
    inspection.checklist = Checklist(
        {InspectionItem.EDGES: Answer.WRONG, InspectionItem.SEDIMENT: Answer.WRONG}
    )
    edges = Found(InspectionFinding(item="edges", what="Gap"))

    with refused(ValidationError, "Sediment on it is marked as wrong. Say what is wrong there."):
        record(firm, inspection, edges)


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ([(-1.0, 100.0)], "-1 h after the rain cannot be"),
        ([(1.0, -5.0)], "A water level of -5 mm cannot be"),
        ([(2.0, 100.0), (2.0, 90.0)], "Two levels are given for 2 h"),
        ([(1.0, 50.0), (5.0, 80.0)], "The water rose from 50 mm after 1 h to 80 mm after 5 h"),
        ([(1.0, 0.0), (5.0, 3.0)], "The water rose from 0 mm after 1 h to 3 mm after 5 h"),
    ],
)
def test_levels_of_a_well_that_cannot_be_are_told_with_their_values(firm, levels, words):
    with refused(ValidationError, words):
        record(firm, inspection_of(firm.surface, *levels))


def test_a_finding_that_breaks_a_rule_stores_no_inspection_either(firm):
    empty = Found(InspectionFinding(item="edges", what="   "))

    with refused(ValidationError):
        record(firm, inspection_of(firm.surface), Found(InspectionFinding(item="sediment", what="S")), empty)


def test_a_finding_is_to_be_corrected_no_sooner_than_it_was_found(firm):
    early = InspectionFinding(item="edges", what="Gap", due_on=DAY - timedelta(days=1))

    with refused(
        ValidationError, "31\xa0May\xa02024 is before the inspection of 1\xa0Jun\xa02024", beside="due_on"
    ):
        record(firm, inspection_of(firm.surface), Found(early))


@pytest.mark.parametrize("severity", Severity)
def test_without_a_day_the_severity_gives_one_and_the_item_its_advice(firm, severity):
    bare = InspectionFinding(item="edges", what=" Gap ", severity=severity.value)

    row = record(firm, inspection_of(firm.surface), Found(bare)).findings.get()

    assert row.due_on == DAY + timedelta(days=severity.days)
    assert row.what == "Gap"
    assert row.advice == "Set the edge again before units or stone move."


def test_an_inspection_that_was_set_aside_takes_no_finding(firm):
    inspection = InspectionFactory(surface=firm.surface)
    open_copy = Inspection.objects.get(pk=inspection.pk)
    inspections.void_inspection(inspection=inspection, by=firm.technician, reason=WHY)
    late = InspectionFinding(inspection=open_copy, item="edges", what="Gap")

    with refused(NotAllowedNowError, "This inspection was set aside. Record a new one."):
        inspections.add_finding(found=Found(late), by=firm.technician)


# ---- What no longer counts -----------------------------------------------------------------------

SET_ASIDE = {
    "inspection": (InspectionFactory, inspections.void_inspection, "surface"),
    "finding": (InspectionFindingFactory, inspections.void_finding, "inspection__surface"),
    "remedy": (RemedyFactory, inspections.void_remedy, "finding__inspection__surface"),
    "change": (SourceChangeFactory, inspections.void_source_change, "surface"),
}


@pytest.mark.parametrize("kind", SET_ASIDE)
def test_setting_aside_says_why(firm, kind):
    make, set_aside, path = SET_ASIDE[kind]
    row = make(**{path: firm.surface})

    with refused(ValidationError, "Say why. The reason stays readable", beside="reason"):
        set_aside(**{kind: row}, by=firm.technician, reason="  ")


@pytest.mark.parametrize("kind", SET_ASIDE)
def test_setting_aside_happens_once_and_the_first_reason_stays(firm, kind):
    make, set_aside, path = SET_ASIDE[kind]
    row = make(**{path: firm.surface})
    second = type(row).objects.get(pk=row.pk)
    set_aside(**{kind: row}, by=firm.technician, reason=f" {WHY} ")

    with refused(AlreadyDoneError, "This record is already set aside. Open the newer one instead."):
        set_aside(**{kind: second}, by=firm.admin, reason="Mine.")

    row.refresh_from_db()
    assert (row.state_reason, row.state_by) == (WHY, firm.technician)


# ---- Findings ------------------------------------------------------------------------------------


def test_a_finding_is_corrected_once(firm, finding):
    second = InspectionFinding.objects.get(pk=finding.pk)
    values = {"what": "Soil along the bed", "severity": "soon"}
    inspections.correct_finding(
        old=finding, new=InspectionFinding(**values), by=firm.technician, reason="Misread."
    )

    with refused(AlreadyDoneError):
        inspections.correct_finding(
            old=second, new=InspectionFinding(**values), by=firm.admin, reason="Misread too."
        )


def test_a_correction_of_a_finding_says_why_and_keeps_the_old_words_counting(firm, finding):
    new = InspectionFinding(what="Soil along the bed", severity="soon")

    with refused(ValidationError, "Say why", beside="reason"):
        inspections.correct_finding(old=finding, new=new, by=firm.technician, reason="")

    finding.refresh_from_db()
    assert finding.finding_state is FindingState.OPEN


def test_a_correction_cannot_move_the_day_before_the_inspection(firm, finding):
    new = InspectionFinding(what="Soil", severity="soon", due_on=date(2024, 5, 1))

    with refused(ValidationError, "1\xa0May\xa02024 is before the inspection", beside="due_on"):
        inspections.correct_finding(old=finding, new=new, by=firm.technician, reason="Misread.")


CLOSE = {
    "corrected": lambda firm, row: RemedyFactory(finding=row),
    "set aside": lambda firm, row: inspections.void_finding(finding=row, by=firm.technician, reason=WHY),
}


@pytest.mark.parametrize("closed", CLOSE)
def test_a_closed_finding_takes_no_remedy_correction_or_change_of_source(firm, finding, closed):
    copies = [InspectionFinding.objects.get(pk=finding.pk) for _ in range(3)]
    CLOSE[closed](firm, finding)
    words = (f"This finding is {closed} already", "Reload the page to see what was done")

    with refused(AlreadyDoneError, *words):
        inspections.record_remedy(remedy=remedy_of(copies[0]), by=firm.admin)
    with refused(AlreadyDoneError, *words):
        new = InspectionFinding(what="Soil", severity="soon")
        inspections.correct_finding(old=copies[1], new=new, by=firm.admin, reason="Misread.")
    with refused(AlreadyDoneError, *words):
        change = change_of(firm.surface, finding=copies[2])
        inspections.record_source_change(change=change, by=firm.admin)


def test_a_finding_is_open_again_where_its_remedy_was_not_done_after_all(firm, finding):
    remedy = inspections.record_remedy(remedy=remedy_of(finding), by=firm.technician)
    inspections.void_remedy(remedy=remedy, by=firm.technician, reason="It was not done.")

    again = inspections.record_remedy(remedy=remedy_of(finding, what="Swept now."), by=firm.technician)

    assert InspectionFinding.objects.get(pk=finding.pk).remedy == again


@pytest.mark.parametrize("missing", ["what", "done_by"])
def test_a_remedy_says_what_was_done_and_who_did_it(firm, finding, missing):
    with refused(ValidationError):
        inspections.record_remedy(remedy=remedy_of(finding, **{missing: "   "}), by=firm.technician)


# ---- Changes of source ---------------------------------------------------------------------------


def test_a_finding_of_another_surface_is_not_put_right_here(firm):
    elsewhere = InspectionFindingFactory(inspection__surface=SurfaceFactory(site=firm.site))

    with refused(ValidationError, "That finding belongs to another surface.", beside="finding"):
        inspections.record_source_change(
            change=change_of(firm.surface, finding=elsewhere), by=firm.technician
        )


def test_a_source_that_began_puts_nothing_right(firm, finding):
    with refused(ValidationError, "A new source puts no finding right", beside="finding"):
        change = change_of(firm.surface, finding=finding, kind="started")
        inspections.record_source_change(change=change, by=firm.technician)


@pytest.mark.parametrize("missing", ["source", "what"])
def test_a_change_names_its_source_and_what_was_done(firm, missing):
    with refused(ValidationError):
        inspections.record_source_change(change=change_of(firm.surface, **{missing: " "}), by=firm.technician)


def test_a_change_set_aside_leaves_the_remedy_it_made_to_be_judged_by_itself(firm, finding):
    change = inspections.record_source_change(
        change=change_of(firm.surface, finding=finding), by=firm.technician
    )

    inspections.void_source_change(change=change, by=firm.technician, reason=WHY)

    remedy = Remedy.objects.get(finding=finding)
    assert remedy.is_active
    assert (remedy.what, remedy.done_by) == ("Kerb set", str(firm.technician))
