"""Inspections as pages show them: what the well says, what stands, in which order, and what was amended of rounds."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from core.calc.format import day
from qa.calc.drain_down import DrainJudgement, WellReading, WellReadings
from qa.calc.inspections import Answer, Checklist, InspectionItem
from qa.models import Inspection, TestRound
from qa.selectors.change_history import amendments_of
from qa.selectors.inspections import (
    answered,
    findings_of,
    open_findings,
    open_sediment_findings,
    summary_of,
    well_result,
    with_findings,
)
from qa.services import inspections, rounds
from tests.factories import (
    AttachmentFactory,
    InspectionFactory,
    InspectionFindingFactory,
    RemedyFactory,
    RoundFactory,
    SurfaceFactory,
)

DAY = date(2024, 6, 1)


def well_of(firm, *levels, limit_h=None):
    firm.surface.drain_limit_h, firm.surface.limit_preset = limit_h, ""
    inspection = InspectionFactory(surface=firm.surface)
    inspection.well = WellReadings(tuple(WellReading(hours, water) for hours, water in levels))
    return well_result(inspection, firm.surface)


# ---- The well ------------------------------------------------------------------------------------


def test_a_well_that_was_not_read_says_nothing(firm):
    assert well_of(firm) is None


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ([(5.0, 300.0)], "Water still stood in the well 5 h after the rain."),
        ([(24.0, 0.0)], "The stone was empty 24 h after the rain."),
        ([(5.0, 300.0), (29.0, 0.0)], "The stone ran empty between 5 and 29 h after the rain."),
        (
            [(5.0, 300.0), (15.0, 200.0)],
            "Water still stood in the well 15 h after the rain; by the fall of the water it is empty after "
            "about 35 h.",
        ),
    ],
)
def test_the_well_says_in_a_sentence_what_was_seen(firm, levels, words):
    found = well_of(firm, *levels, limit_h=72.0)

    assert found.text.startswith(words)


@pytest.mark.parametrize(
    ("levels", "limit_h", "judgement"),
    [
        ([(24.0, 0.0)], 48.0, DrainJudgement.IN_TIME),
        ([(60.0, 100.0)], 48.0, DrainJudgement.TOO_SLOW),
        ([(24.0, 100.0), (72.0, 0.0)], 48.0, DrainJudgement.CANNOT_TELL),
    ],
)
def test_the_well_is_judged_by_the_time_that_is_allowed(firm, levels, limit_h, judgement):
    found = well_of(firm, *levels, limit_h=limit_h)

    assert found.judgement is judgement
    assert f"It must be empty within {limit_h:g} h" in found.text
    assert found.text.endswith(f"{judgement.label}.")


def test_without_a_time_allowed_nothing_is_judged_and_what_long_standing_means_is_said(firm):
    found = well_of(firm, (5.0, 300.0))

    assert found.judgement is None
    assert "No drain-down time is set for this surface." in found.text
    assert "3 days after a storm" in found.text


# ---- Findings ------------------------------------------------------------------------------------


def finding(inspection, days, **fields):
    return InspectionFindingFactory(inspection=inspection, due_on=DAY + timedelta(days=days), **fields)


def test_findings_stand_by_their_day_those_set_aside_last_and_replaced_ones_not_at_all(firm):
    inspection = InspectionFactory(surface=firm.surface)
    later, aside, sooner = (finding(inspection, days) for days in (30, 1, 7))
    finding(inspection, 2, state="replaced")
    inspections.void_finding(finding=aside, by=firm.technician, reason="None there.")

    shown = findings_of(with_findings(Inspection.objects.all()).get())

    assert shown == [sooner, later, aside]


def test_a_summary_counts_what_stands_and_what_is_open(firm):
    inspection = InspectionFactory(surface=firm.surface)
    finding(inspection, 1)
    RemedyFactory(finding=finding(inspection, 2))
    finding(inspection, 3, state="void")

    assert summary_of(inspection) == "2 findings, 1 open"


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({}, "all in order"),
        ({InspectionItem.EDGES: Answer.NOT_SEEN}, "nothing wrong found; 1 not looked at"),
    ],
)
def test_a_summary_without_findings_says_what_was_not_looked_at(firm, answers, said):
    inspection = InspectionFactory(surface=firm.surface)
    inspection.checklist = Checklist(answers)

    assert summary_of(inspection) == said


def test_items_are_told_by_their_answer_in_the_order_of_the_list(firm):
    inspection = InspectionFactory(surface=firm.surface)
    inspection.checklist = Checklist(
        {
            InspectionItem.SEDIMENT: Answer.WRONG,
            InspectionItem.PONDING: Answer.WRONG,
            InspectionItem.EDGES: Answer.IN_ORDER,
        }
    )

    assert list(answered(inspection, Answer.WRONG)) == [InspectionItem.PONDING, InspectionItem.SEDIMENT]


def test_inspections_with_all_that_hangs_on_them_ask_as_often_for_six_as_for_one(firm):
    def add():
        row = finding(InspectionFactory(surface=firm.surface, recorded_by=firm.technician), 1)
        RemedyFactory(finding=row, recorded_by=firm.technician)
        AttachmentFactory(finding=row)

    def asked():
        with CaptureQueriesContext(connection) as queries:
            for inspection in with_findings(Inspection.objects.all()):
                for row in findings_of(inspection):
                    assert row.finding_state
                    assert len(row.attachments.all()) == 1
                    assert str(row.remedy.recorded_by)
        return len(queries)

    add()
    one = asked()
    for _ in range(5):
        add()

    assert asked() == one


def test_what_is_open_on_a_surface_is_neither_corrected_set_aside_nor_of_another(firm):
    inspection = InspectionFactory(surface=firm.surface)
    later, sooner = finding(inspection, 9), finding(inspection, 2)
    RemedyFactory(finding=finding(inspection, 1))
    finding(inspection, 1, state="void")
    finding(inspection, 1, state="replaced")
    finding(InspectionFactory(surface=firm.surface, state="void"), 1)
    finding(InspectionFactory(surface=SurfaceFactory(site=firm.site)), 1)

    assert list(open_findings(firm.surface)) == [sooner, later]


def test_the_oldest_open_finding_of_sediment_counts(firm):
    newer = InspectionFactory(surface=firm.surface, inspected_on=DAY + timedelta(days=300))
    older = InspectionFactory(surface=firm.surface, inspected_on=DAY)
    finding(newer, 1, item="sediment")
    finding(older, 1, item="edges")
    wanted = finding(older, 90, item="sediment")

    assert open_sediment_findings([firm.surface]).get(firm.surface.pk) == wanted
    RemedyFactory(finding=wanted)
    assert open_sediment_findings([firm.surface])[firm.surface.pk].inspection == newer


def test_without_sediment_there_is_none(firm):
    finding(InspectionFactory(surface=firm.surface), 1, item="edges")

    assert open_sediment_findings([firm.surface]).get(firm.surface.pk) is None


# ---- What was amended of a round -----------------------------------------------------------------


def amended(round_, reason, **values):
    row = TestRound.objects.get(pk=round_.pk)
    for name, value in values.items():
        setattr(row, name, value)
    return rounds.amend_round(round_=row, reason=reason)


@pytest.mark.parametrize(
    ("field", "before", "after", "said"),
    [
        ("tested_on", DAY, date(2024, 6, 2), (day(DAY), day(date(2024, 6, 2)))),
        ("standing_water", False, True, ("no", "yes")),
        ("air_temperature_c", None, 21.5, ("nothing", "21.5")),
        ("hours_since_rain", 48.0, 36.0, ("48", "36")),
        ("note", "", "Warm.", ("nothing", "Warm.")),
        ("note", "Warm.", "", ("Warm.", "nothing")),
    ],
)
def test_a_value_is_told_before_and_after_as_people_read_it(firm, field, before, after, said):
    round_ = RoundFactory(surface=firm.surface, **{field: before})

    amended(round_, "Misread.", **{field: after})

    ((change,),) = [one.changes for one in amendments_of(round_, with_notes=True)]
    assert (change.before, change.after) == said
    assert change.label == TestRound._meta.get_field(field).verbose_name


def test_a_purpose_is_told_by_its_name(firm):
    round_ = RoundFactory(surface=firm.surface, purpose="routine")

    amended(round_, "It was the acceptance.", purpose="acceptance")

    ((change,),) = [one.changes for one in amendments_of(round_, with_notes=True)]
    assert (change.before, change.after) == tuple(
        TestRound(purpose=purpose).get_purpose_display() for purpose in ("routine", "acceptance")
    )


def test_amendments_are_told_newest_first_with_their_reasons_and_those_of_nothing_not_at_all(firm):
    round_ = RoundFactory(surface=firm.surface)
    amended(round_, "First.", hours_since_rain=30.0)
    amended(round_, "Nothing at all.")
    amended(round_, "Second.", hours_since_rain=20.0, standing_water=True)

    told = amendments_of(round_, with_notes=True)

    assert [one.reason for one in told] == ["Second.", "First."]
    assert [len(one.changes) for one in told] == [2, 1]


def test_who_may_not_read_notes_is_not_told_that_one_was_changed(firm):
    round_ = RoundFactory(surface=firm.surface)
    amended(round_, "Said too much.", note="The gardener was rude.")

    assert amendments_of(round_, with_notes=False) == []
    assert len(amendments_of(round_, with_notes=True)) == 1


def test_a_round_as_it_was_recorded_has_no_amendments(firm):
    assert amendments_of(RoundFactory(surface=firm.surface), with_notes=True) == []
