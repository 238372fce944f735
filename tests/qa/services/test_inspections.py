"""Inspections, findings, remedies and changes of source as they are stored."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from core.errors import AlreadyDoneError, NotAllowedNowError
from core.services.uploads import Sent, accept
from qa.calc.drain_down import WellReading, WellReadings
from qa.calc.inspections import Answer, Checklist, FindingState, InspectionItem
from qa.models import Inspection, InspectionFinding, Remedy, SourceChange
from qa.selectors.inspections import open_sediment_findings
from qa.services import inspections
from qa.services.inspections import Found
from tests.clock import TODAY
from tests.core.services.test_uploads import photo, sent
from tests.factories import InspectionFactory, InspectionFindingFactory, RemedyFactory, SurfaceFactory

DAY = date(2024, 6, 1)


def inspection_of(surface, **fields):
    return Inspection(surface=surface, **{"inspected_on": DAY} | fields)


def found(**fields):
    return Found(InspectionFinding(**{"item": "sediment", "what": "Sand"} | fields))


def remedy_of(finding, **fields):
    return Remedy(finding=finding, **{"done_on": DAY, "what": "Swept.", "done_by": "Crew 1"} | fields)


def change_of(surface, **fields):
    values = {"changed_on": DAY, "kind": "stopped", "source": "Bed", "what": "Kerb set"}
    return SourceChange(surface=surface, **values | fields)


def test_an_inspection_is_stored_with_its_findings_and_their_photos(firm):
    version = firm.surface.record_version
    with_photo = Found(found().finding, Sent((accept(sent(photo())),), "Sand by the bed"))

    stored = inspections.record_inspection(
        inspection=inspection_of(firm.surface),
        found=[with_photo, found(item="edges", what="Gap", severity="urgent")],
        by=firm.technician,
    )

    sand, gap = stored.findings.order_by("-due_on")
    assert (sand.due_on, gap.due_on) == (DAY + timedelta(days=30), DAY + timedelta(days=7))
    assert sand.advice.startswith("Find where it comes from")
    assert [file.caption for file in sand.attachments.all()] == ["Sand by the bed"]
    firm.surface.refresh_from_db()
    assert firm.surface.record_version > version


def test_sent_twice_it_is_stored_once_with_its_findings(firm):
    key = uuid4()
    first = inspections.record_inspection(
        inspection=inspection_of(firm.surface, device_id=key), found=[found()], by=firm.technician
    )

    second = inspections.record_inspection(
        inspection=inspection_of(firm.surface, device_id=key), found=[found()], by=firm.technician
    )

    assert second.pk == first.pk
    assert InspectionFinding.objects.count() == 1


@pytest.mark.parametrize(
    ("day", "said"),
    [(TODAY + timedelta(days=2), "is in the future"), (date(2019, 1, 1), "is before the surface opened")],
)
def test_a_day_that_cannot_be_is_refused(firm, day, said):
    with pytest.raises(ValidationError, match=said):
        inspections.record_inspection(
            inspection=inspection_of(firm.surface, inspected_on=day), by=firm.technician
        )


def test_what_is_wrong_must_be_said(firm):
    inspection = inspection_of(firm.surface)
    inspection.checklist = Checklist({InspectionItem.EDGES: Answer.WRONG})

    with pytest.raises(ValidationError, match="Edges is marked as wrong"):
        inspections.record_inspection(inspection=inspection, by=firm.technician)

    assert not Inspection.objects.exists()


@pytest.mark.parametrize(("limit_h", "findings"), [(48.0, 1), (200.0, 0), (None, 0)])
def test_a_well_that_runs_empty_too_late_is_a_finding(firm, limit_h, findings):
    firm.surface.drain_limit_h = limit_h
    inspection = inspection_of(firm.surface)
    inspection.well = WellReadings((WellReading(4.0, 300.0), WellReading(60.0, 150.0)))

    stored = inspections.record_inspection(inspection=inspection, by=firm.technician)

    assert [f.item for f in stored.findings.all()] == ["well"] * findings


def test_levels_that_rise_are_refused_and_nothing_is_stored(firm):
    inspection = inspection_of(firm.surface)
    inspection.well = WellReadings((WellReading(4.0, 100.0), WellReading(6.0, 300.0)))

    with pytest.raises(ValidationError, match="rose from 100 mm"):
        inspections.record_inspection(inspection=inspection, by=firm.technician)

    assert not Inspection.objects.exists()


def test_a_finding_is_work_until_a_record_closes_it(firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    assert list(InspectionFinding.objects.to_do()) == [finding]

    remedy = inspections.record_remedy(remedy=remedy_of(finding), by=firm.technician)

    assert not InspectionFinding.objects.to_do().exists()
    assert InspectionFinding.objects.get().finding_state is FindingState.DONE
    inspections.void_remedy(remedy=remedy, by=firm.technician, reason="It was the next bay.")
    assert list(InspectionFinding.objects.to_do()) == [finding]


def test_a_finding_is_set_aside_with_a_reason_and_is_work_no_more(firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)

    inspections.void_finding(finding=finding, by=firm.technician, reason="Known and harmless.")

    assert not InspectionFinding.objects.to_do().exists()
    assert finding.finding_state is FindingState.ASIDE
    with pytest.raises(AlreadyDoneError, match="set aside already"):
        inspections.record_remedy(remedy=remedy_of(finding), by=firm.technician)


def test_setting_a_finding_aside_without_a_reason_is_refused(firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)

    with pytest.raises(ValidationError, match="Say why"):
        inspections.void_finding(finding=finding, by=firm.technician, reason="  ")


def test_with_its_inspection_set_aside_a_finding_is_work_no_more(firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)

    inspections.void_inspection(inspection=finding.inspection, by=firm.technician, reason="Other surface.")

    assert not InspectionFinding.objects.to_do().exists()
    new = InspectionFinding(inspection=finding.inspection, item="edges", what="Gap")
    with pytest.raises(NotAllowedNowError, match="was set aside"):
        inspections.add_finding(found=Found(new), by=firm.technician)


def test_a_closed_finding_is_closed_once(firm):
    remedy = RemedyFactory(finding__inspection__surface=firm.surface)

    with pytest.raises(AlreadyDoneError, match="corrected already"):
        inspections.record_remedy(remedy=remedy_of(remedy.finding), by=firm.technician)


def test_a_correction_keeps_the_photos_and_leaves_the_old_words_readable(firm):
    (file,) = _photo_of(old := InspectionFindingFactory(inspection__surface=firm.surface), firm)
    new = InspectionFinding(inspection=old.inspection, what="Mud", severity="soon", due_on=DAY)

    inspections.correct_finding(old=old, new=new, by=firm.technician, reason="It was mud.")

    old.refresh_from_db()
    file.refresh_from_db()
    assert (old.what, old.state, new.replaces, file.finding) == ("Sand along the bed", "replaced", old, new)
    assert list(InspectionFinding.objects.to_do()) == [new]


def _photo_of(finding, firm):
    from qa.services.files import attach

    return attach(to=finding, sent=Sent((accept(sent(photo())),), ""), by=firm.technician)


def test_stopping_the_source_closes_the_finding_it_puts_right(firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    assert open_sediment_findings([firm.surface]).get(firm.surface.pk) == finding

    inspections.record_source_change(change=change_of(firm.surface, finding=finding), by=firm.technician)

    assert open_sediment_findings([firm.surface]).get(firm.surface.pk) is None
    assert finding.remedies.get().what == "Kerb set"


@pytest.mark.parametrize(
    ("kind", "said"), [("started", "puts no finding right"), ("stopped", "another surface")]
)
def test_a_change_of_source_that_cannot_close_the_finding_is_refused(firm, kind, said):
    own = kind == "started"
    finding = InspectionFindingFactory(inspection__surface=firm.surface if own else SurfaceFactory())

    with pytest.raises(ValidationError, match=said):
        inspections.record_source_change(
            change=change_of(firm.surface, kind=kind, finding=finding), by=firm.technician
        )


def test_a_change_of_source_sent_twice_is_stored_once(firm):
    key = uuid4()
    changes = [change_of(firm.surface, device_id=key) for _ in range(2)]

    first, second = (inspections.record_source_change(change=c, by=firm.technician) for c in changes)

    assert first.pk == second.pk
    assert SourceChange.objects.count() == 1


def test_a_finding_due_before_it_was_found_is_refused(firm):
    inspection = InspectionFactory(surface=firm.surface, inspected_on=DAY)
    early = InspectionFinding(inspection=inspection, item="edges", what="Gap", due_on=DAY - timedelta(days=1))

    with pytest.raises(ValidationError, match="before the inspection"):
        inspections.add_finding(found=Found(early), by=firm.technician)
