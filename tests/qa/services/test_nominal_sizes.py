"""Findings in inches and millimetres, readings by area, and what contradicts the build-up."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord
from qa.presentation.checks import found_text, judged_text
from qa.selectors.construction import record_state
from qa.services import assembly, construction
from tests.factories import LayerFactory

DAY = date(2024, 3, 1)
IN = 25.4


@pytest.fixture
def record(firm):
    LayerFactory(surface=firm.surface, kind="surface_course", thickness_mm=70.0)
    LayerFactory(surface=firm.surface, kind="subbase", thickness_mm=300.0)
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=100.0)
    firm.surface.area_m2 = 1000.0
    firm.surface.save()
    return opened(firm)


def opened(firm, units="si", **fields):
    record = ConstructionRecord(surface=firm.surface, **fields)
    return assembly.open_record(record=record, parts=list(assembly.PARTS), by=firm.technician, units=units)


def check_of(record, key):
    return ConstructionCheck.objects.get(record=record, key=key)


def free(record):
    """Take the hold points away, so that a check can be looked at by itself."""
    record.checks.update(hold_point=False)


def find(record, key, firm, reading=None, answer=None, **fields):
    entry = CheckEntry(construction_check=check_of(record, key), done_on=DAY, reading=reading, **fields)
    return construction.record_entry(entry=entry, answer=answer, by=firm.technician)


def state_of(record, key):
    return next(one for one in record_state(record).checks if one.row.key == key)


# The sizes of textbooks for US work: bedding 2 in, units 3 1/8 in, lifts 12 and 6 in, a 6 in well, joint stone 1/4 in
# below the top, lippage 1/8 in (ICPI guidance; inch figures from memory). Each is a hair beyond its metric sister.
@pytest.mark.parametrize(
    ("key", "inches"),
    [
        ("bedding_thickness", 2.0),
        ("unit_thickness", 3.125),
        ("subbase_lift", 12.0),
        ("base_lift", 6.0),
        ("observation_well", 6.0),
        ("joint_fill_level", 0.25),
        ("lippage", 0.125),
        ("joint_width", 0.25),
        ("geotextile_overlap", 12.0),
    ],
)
def test_a_textbook_size_in_inches_passes_where_it_was_read_in_inches(record, firm, key, inches):
    free(record)

    assert find(record, key, firm, inches * IN, units="us").outcome == "passed"


@pytest.mark.parametrize(
    ("key", "inches"), [("bedding_thickness", 2.1), ("lippage", 0.13), ("base_lift", 6.1)]
)
def test_a_size_beyond_it_fails(record, firm, key, inches):
    free(record)

    assert find(record, key, firm, inches * IN, units="us").outcome == "failed"


def test_the_same_reading_in_millimetres_is_judged_by_millimetres(record, firm):
    free(record)

    assert find(record, "bedding_thickness", firm, 50.8).outcome == "failed"


def test_a_reading_in_inches_is_told_to_a_metric_reader_as_it_was_judged(record, firm):
    free(record)

    entry = find(record, "bedding_thickness", firm, 50.8, units="us")

    assert found_text(entry, "si") == "2 in (50.8 mm)"
    assert judged_text(entry, "si") == "1 1/2 to 2 in"
    assert found_text(entry, "us") == "2 in"
    assert judged_text(entry, "us") == "1 1/2 to 2 in"


def test_one_reading_does_not_settle_a_large_surface_nor_let_the_work_go_on(record, firm):
    for key in ("utilities_located",):
        find(record, key, firm, answer=True)
    record.checks.exclude(key__in=("geotextile_overlap", "utilities_located")).update(hold_point=False)
    overlap = check_of(record, "geotextile_overlap")

    find(record, "geotextile_overlap", firm, 320.0)
    state = state_of(record, "geotextile_overlap")

    assert overlap.readings_asked == 5  # 1000 m², one for each 200 m²
    assert "common practice, no source" in overlap.readings_basis
    assert (state.word, state.settled) == ("1 of 5 readings", False)
    with pytest.raises(Exception, match="A hold point stops this stage: Overlap"):
        find(record, "overflow_free", firm, answer=True)
    for _ in range(4):
        find(record, "geotextile_overlap", firm, 320.0)
    assert state_of(record, "geotextile_overlap").settled
    assert find(record, "overflow_free", firm, answer=True).outcome == "passed"


def test_a_coordinator_s_number_of_readings_takes_the_place_of_the_usual_one(record, firm):
    check = check_of(record, "geotextile_overlap")
    check.readings_asked = 2

    construction.change_criterion(check=check, by=firm.coordinator, reason="Specification 32 14 43")
    check.refresh_from_db()

    assert (check.readings_asked, check.readings_basis) == (2, "")
    assert (check.least, check.least_us) == (300.0, 12.0)


def test_a_changed_bound_takes_its_inch_size_with_it(record, firm):
    check = check_of(record, "geotextile_overlap")
    check.least = 450.0

    construction.change_criterion(check=check, by=firm.coordinator, reason="Drawing 12")
    check.refresh_from_db()

    assert (check.least, check.least_us) == (450.0, None)


def test_a_layer_in_inches_is_laid_in_lifts_of_inches(firm):
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=12 * IN)

    assert check_of(opened(firm, "us"), "base_lift").readings_basis.startswith("In each of 2 lifts")


def test_units_that_contradict_the_build_up_are_told(record, firm):
    free(record)

    find(record, "unit_thickness", firm, 90.6)

    (conflict,) = state_of(record, "unit_thickness").conflicts
    assert "90.6 mm" in conflict.text("si")
    assert "the build-up says 70 mm" in conflict.text("si")
    assert [one.row.key for one in record_state(record).contradicted] == ["unit_thickness"]


def test_a_failure_that_was_put_right_no_longer_contradicts(record, firm):
    free(record)
    failed = find(record, "base_thickness", firm, 150.0)
    assert state_of(record, "base_thickness").conflicts
    work = construction.CorrectiveWork(entry=failed, done_on=DAY, what="Trimmed.", done_by="Crew 1")
    construction.record_work(work=work, by=firm.technician)

    find(record, "base_thickness", firm, 102.0, rechecks=failed)

    assert not state_of(record, "base_thickness").conflicts


def test_a_bound_bed_brings_its_own_checks_with_the_designed_thickness(firm):
    LayerFactory(surface=firm.surface, kind="bound_bed", thickness_mm=60.0)
    assert assembly.has_bound_bed(firm.surface)

    record = opened(firm, bound_bed=True)

    assert check_of(record, "bound_thickness").design == 60.0
    keys = set(record.checks.values_list("key", flat=True))
    assert "bonding_agent" in keys
    assert not {"bedding_stone", "bedding_loose", "unit_seating"} & keys


def test_a_surface_without_units_has_no_bound_bed(firm):
    firm.surface.surface_type = "gravel"
    firm.surface.save()

    with pytest.raises(ValidationError, match="does not stand on a bed of its own"):
        opened(firm, bound_bed=True)
