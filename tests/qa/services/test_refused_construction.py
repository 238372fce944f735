"""What a construction record refuses beyond its hold points, and that nothing is stored then."""

from datetime import date
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from core.errors import AlreadyDoneError, NotAllowedNowError
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork
from qa.services import assembly, construction
from tests.factories import (
    AttachmentFactory,
    CheckEntryFactory,
    ConstructionCheckFactory,
    ConstructionRecordFactory,
    CorrectiveWorkFactory,
    SurfaceFactory,
)
from tests.refusals import FAR_AHEAD, refused

DAY = date(2024, 3, 1)


@pytest.fixture
def record(firm):
    return ConstructionRecordFactory(surface=firm.surface)


@pytest.fixture
def yes_or_no(record):
    return ConstructionCheckFactory(record=record, asked="The stone is clean.")


@pytest.fixture
def number(record):
    return ConstructionCheckFactory(record=record, asked="The bed is thick enough.", unit="mm", least=40.0)


def entry_of(check, **fields):
    return CheckEntry(construction_check=check, **{"done_on": DAY} | fields)


def open_record(firm, **fields):
    parts = fields.pop("parts", ["base"])
    surface = fields.pop("surface", firm.surface)
    record = ConstructionRecord(surface=surface, **fields)
    return assembly.open_record(record=record, parts=parts, by=firm.technician)


# ---- Opening -------------------------------------------------------------------------------------


def test_a_second_record_of_a_surface_is_refused_by_the_surfaces_name(firm, record):
    with refused(AlreadyDoneError, f"{firm.surface} has a construction record already. Open that one."):
        open_record(firm)


def test_a_part_that_nobody_knows_is_named(firm):
    with refused(ValidationError, "chimney is not a part of a build-up that can be left out."):
        open_record(firm, parts=["base", "chimney"])


@pytest.mark.parametrize("kind", ["gravel", "porous_asphalt"])
def test_a_surface_without_units_has_no_bound_bed(firm, kind):
    surface = SurfaceFactory(site=firm.site, surface_type=kind)

    with refused(ValidationError, surface.get_surface_type_display(), beside="bound_bed"):
        open_record(firm, surface=surface, bound_bed=True)


def test_a_strength_of_the_ground_that_cannot_be_stores_neither_record_nor_checks(firm):
    with refused(ValidationError, beside="subgrade_cbr"):
        open_record(firm, subgrade_cbr=-1.0)


def test_a_record_opened_twice_by_one_sending_is_opened_once(firm):
    key = uuid4()

    first, second = open_record(firm, device_id=key), open_record(firm, device_id=key)

    assert first == second
    positions = list(first.checks.values_list("position", flat=True))
    assert positions == list(range(1, len(positions) + 1))
    assert first.opened_by == firm.technician


# ---- Findings ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fixture", "words"), [("yes_or_no", "Answer yes or no."), ("number", "Enter the reading.")]
)
def test_a_finding_without_what_was_found_is_refused(request, firm, fixture, words):
    check = request.getfixturevalue(fixture)

    with refused(ValidationError, words, beside="reading"):
        construction.record_entry(entry=entry_of(check), by=firm.technician)


@pytest.mark.parametrize("step", ["found", "waived", "put right"])
def test_a_day_to_come_is_refused_whatever_is_recorded(firm, yes_or_no, step):
    failed = CheckEntryFactory(construction_check=yes_or_no, outcome="failed")

    with refused(ValidationError, FAR_AHEAD, "Enter the day it was done.", beside="done_on"):
        if step == "found":
            entry = entry_of(yes_or_no, done_on=FAR_AHEAD)
            construction.record_entry(entry=entry, answer=True, by=firm.technician)
        elif step == "waived":
            waiver = entry_of(yes_or_no, done_on=FAR_AHEAD, outcome="waived", reason="Not dug.")
            construction.leave_out(entry=waiver, by=firm.coordinator)
        else:
            work = CorrectiveWork(entry=failed, done_on=FAR_AHEAD, what="Taken out.", done_by="Crew 1")
            construction.record_work(work=work, by=firm.technician)


def test_a_finding_is_corrected_once_and_by_somebody_who_says_why(firm, yes_or_no):
    old = CheckEntryFactory(construction_check=yes_or_no, outcome="failed")
    second = CheckEntry.objects.get(pk=old.pk)

    def correct(row, reason):
        new = entry_of(yes_or_no)
        return construction.correct_entry(old=row, new=new, answer=True, by=firm.technician, reason=reason)

    with refused(ValidationError, "Say why", beside="reason"):
        correct(old, " ")
    correct(old, "Misread.")
    with refused(AlreadyDoneError, "already replaced by a correction"):
        correct(second, "Misread too.")


def test_a_correction_takes_the_photos_along(firm, yes_or_no):
    old = CheckEntryFactory(construction_check=yes_or_no, outcome="failed")
    photo = AttachmentFactory(entry=old)

    new = construction.correct_entry(
        old=old, new=entry_of(yes_or_no), answer=True, by=firm.technician, reason="Misread."
    )

    photo.refresh_from_db()
    assert (photo.entry, new.outcome) == (new, "passed")


@pytest.mark.parametrize(
    ("set_aside", "make"),
    [
        (lambda row, **how: construction.void_entry(entry=row, **how), CheckEntryFactory),
        (lambda row, **how: construction.set_work_aside(work=row, **how), CorrectiveWorkFactory),
    ],
    ids=["finding", "work"],
)
def test_findings_and_works_are_set_aside_once_and_with_a_reason(firm, set_aside, make):
    row = make()
    second = type(row).objects.get(pk=row.pk)

    with refused(ValidationError, "Say why", beside="reason"):
        set_aside(row, by=firm.technician, reason="")
    set_aside(row, by=firm.technician, reason="Wrong site.")
    with refused(AlreadyDoneError, "already set aside"):
        set_aside(second, by=firm.technician, reason="Wrong.")


# ---- Works ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"outcome": "passed"}, "this one has passed"),
        ({"outcome": "failed", "state": "void"}, "this one has set aside"),
        ({"outcome": "failed", "state": "replaced"}, "this one has replaced"),
    ],
)
def test_only_a_failure_that_counts_is_put_right(firm, yes_or_no, fields, said):
    entry = CheckEntryFactory(construction_check=yes_or_no, **fields)
    work = CorrectiveWork(entry=entry, done_on=DAY, what="Taken out.", done_by="Crew 1")

    with refused(NotAllowedNowError, "Only a failed finding can be corrected", said):
        construction.record_work(work=work, by=firm.technician)


@pytest.mark.parametrize("missing", ["what", "done_by"])
def test_a_work_says_what_was_done_and_by_whom(firm, yes_or_no, missing):
    entry = CheckEntryFactory(construction_check=yes_or_no, outcome="failed")
    said = {"what": "Taken out.", "done_by": "Crew 1"} | {missing: "  "}

    with refused(ValidationError):
        construction.record_work(work=CorrectiveWork(entry=entry, done_on=DAY, **said), by=firm.technician)


def test_a_work_sent_twice_is_stored_once(firm, yes_or_no):
    entry, key = CheckEntryFactory(construction_check=yes_or_no, outcome="failed"), uuid4()

    def send():
        work = CorrectiveWork(entry=entry, done_on=DAY, what=" Out. ", done_by=" Crew 1 ", device_id=key)
        return construction.record_work(work=work, by=firm.technician)

    first = send()

    assert send() == first
    assert (first.what, first.done_by, first.recorded_by) == ("Out.", "Crew 1", firm.technician)


# ---- Waivers -------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["technician", "viewer", "owner_person", "outsider"])
def test_a_waiver_of_somebody_without_the_role_stores_nothing(firm, yes_or_no, who):
    waiver = entry_of(yes_or_no, outcome="waived", reason="Not dug.")

    with refused(PermissionDenied, "Only a coordinator or an admin of this organisation"):
        construction.leave_out(entry=waiver, by=getattr(firm, who))


def test_a_waiver_sent_twice_is_stored_once(firm, yes_or_no):
    key = uuid4()

    def send():
        waiver = entry_of(yes_or_no, outcome="waived", reason=" Not dug. ", device_id=key)
        return construction.leave_out(entry=waiver, by=firm.coordinator)

    first = send()

    assert send() == first
    assert (first.reason, first.criterion.asked) == ("Not dug.", "The stone is clean.")


# ---- Criteria ------------------------------------------------------------------------------------


@pytest.mark.parametrize("fields", [{"unit": "mm"}, {"unit": "", "against_design": True}])
def test_an_own_check_with_nothing_to_hold_a_reading_to_is_refused(firm, record, fields):
    own = ConstructionCheck(record=record, stage="base", asked="The kerb is high enough.", **fields)

    with refused(ValidationError, "Give at least one bound", beside="least"):
        construction.add_check(check=own, by=firm.technician)


def test_bounds_stand_in_their_order(firm, record):
    own = ConstructionCheck(record=record, stage="base", asked="High.", unit="mm", least=9.0, most=3.0)

    with refused(ValidationError, "The upper bound cannot be below the lower one."):
        construction.add_check(check=own, by=firm.technician)


def test_an_own_check_sent_twice_is_added_once_and_stands_last(firm, record, yes_or_no):
    key = uuid4()

    def send():
        own = ConstructionCheck(record=record, stage="base", asked="The kerb stands.", device_id=key)
        return construction.add_check(check=own, by=firm.technician)

    first = send()

    assert send() == first
    assert first.position == yes_or_no.position + 1
    assert first.added_by == firm.technician


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_changed_criterion_says_why(firm, number, reason):
    number.least = 30.0

    with refused(ValidationError, "Say why", beside="reason"):
        construction.change_criterion(check=number, by=firm.coordinator, reason=reason)


def test_a_criterion_does_not_lose_its_last_bound(firm, number):
    number.least = None

    with refused(ValidationError, "Give at least one bound", beside="least"):
        construction.change_criterion(check=number, by=firm.coordinator, reason="Drawing 12")


def test_a_changed_bound_takes_what_was_printed_in_inches_beside_it_along(firm, number):
    ConstructionCheck.objects.filter(pk=number.pk).update(least_us=1.5, most=60.0, most_us=2.5)
    number.refresh_from_db()
    number.least = 30.0

    construction.change_criterion(check=number, by=firm.coordinator, reason="Drawing 12")

    number.refresh_from_db()
    assert (number.least_us, number.most_us) == (None, 2.5)


def test_a_changed_number_of_readings_rests_on_the_drawing_and_no_more_on_the_area(firm, number):
    ConstructionCheck.objects.filter(pk=number.pk).update(readings_basis="one each 500 m²")
    number.refresh_from_db()
    number.readings_asked = 7

    construction.change_criterion(check=number, by=firm.coordinator, reason="Drawing 12")

    number.refresh_from_db()
    assert (number.readings_asked, number.readings_basis, number.source) == (7, "", "Drawing 12")
    assert number.source_status == "entered"
