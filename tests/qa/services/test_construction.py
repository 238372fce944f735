from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction

from core.errors import AlreadyDoneError, NotAllowedNowError
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork, TestRound
from qa.selectors.construction import record_state
from qa.services import assembly, construction, rounds
from tests.factories import InfiltrationTestFactory, LayerFactory, RoundFactory

DAY = date(2024, 3, 1)


@pytest.fixture
def record(firm):
    LayerFactory(surface=firm.surface, kind="subbase", thickness_mm=450.0)
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=100.0)
    return assembly.open_record(
        record=ConstructionRecord(surface=firm.surface), parts=list(assembly.PARTS), by=firm.technician
    )


def check_of(record, key):
    return ConstructionCheck.objects.get(record=record, key=key)


def find(record, key, firm, reading=None, answer=None, **fields):
    entry = CheckEntry(construction_check=check_of(record, key), done_on=DAY, reading=reading, **fields)
    return construction.record_entry(entry=entry, answer=answer, by=firm.technician)


def pass_until(record, firm, key):
    """Pass or leave out every hold point before the stage of `key`."""
    for state in record_state(record).checks:
        if state.row.key == key:
            return
        if state.row.hold_point:
            waiver = CheckEntry(
                construction_check=state.row, outcome="waived", done_on=DAY, reason="not looked at here"
            )
            construction.leave_out(entry=waiver, by=firm.coordinator)


def put_right(entry, firm, what="Taken out and laid again."):
    work = CorrectiveWork(entry=entry, done_on=DAY, what=what, done_by="Crew 1")
    return construction.record_work(work=work, by=firm.technician)


def stands(record, key):
    return next(s for s in record_state(record).checks if s.row.key == key).status


def test_a_record_takes_its_checks_and_the_designed_values_of_the_layers(record, firm):
    subbase = check_of(record, "subbase_thickness")

    assert subbase.design == 450.0
    assert firm.surface.area_m2 == 1000.0
    assert (
        check_of(record, "subbase_lift").readings_asked == 4
    )  # two lifts, one reading for each 500 m² begun
    assert check_of(record, "base_lift").readings_asked == 2
    assert check_of(record, "acceptance_rate").design is None


def test_parts_that_the_build_up_lacks_bring_no_checks_but_a_safe_overflow_is_always_asked(firm):
    record = assembly.open_record(
        record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician
    )

    keys = set(record.checks.values_list("key", flat=True))

    assert "base_lift" in keys
    assert "surface_overflow" in keys
    assert not {"geotextile_overlap", "overflow_invert", "subbase_lift", "edge_restraint"} & keys


def test_a_soft_subgrade_asks_for_sewn_joints(firm):
    record = ConstructionRecord(surface=firm.surface, subgrade_cbr=0.3)

    assembly.open_record(record=record, parts=["geotextile"], by=firm.technician)

    assert "sewn" in check_of(record, "geotextile_overlap").asked


def test_a_surface_has_one_record(record, firm):
    with pytest.raises(AlreadyDoneError, match="already"):
        assembly.open_record(record=ConstructionRecord(surface=firm.surface), parts=[], by=firm.admin)


def test_the_usual_parts_are_those_of_the_layers(firm):
    assert assembly.usual_parts(firm.surface) == list(assembly.PARTS)

    LayerFactory(surface=firm.surface, kind="geotextile", thickness_mm=None, porosity=None)

    assert assembly.usual_parts(firm.surface) == ["geotextile", "edge"]


def test_a_later_change_of_the_layers_does_not_change_what_was_asked(record, firm):
    firm.surface.layers.update(thickness_mm=700.0)

    assert check_of(record, "subbase_thickness").design == 450.0


def test_a_reading_is_judged_and_keeps_what_was_asked_of_it(record, firm):
    pass_until(record, firm, "bedding_thickness")

    entry = find(record, "bedding_thickness", firm, 45.0, where="B2")

    assert entry.outcome == "passed"
    assert entry.criterion.least == 40.0
    assert entry.recorded_by == firm.technician
    assert stands(record, "bedding_thickness") == "partly"


def test_a_hold_point_stops_the_next_stage_until_it_passes(record, firm):
    with pytest.raises(NotAllowedNowError, match="A hold point stops this stage: Utilities"):
        find(record, "subgrade_slope", firm, 1.0)

    find(record, "utilities_located", firm, answer=True)

    assert find(record, "subgrade_slope", firm, 1.0).outcome == "passed"


def test_a_failed_hold_point_keeps_stopping_the_next_stage(record, firm):
    find(record, "utilities_located", firm, answer=False)

    with pytest.raises(NotAllowedNowError, match="hold point"):
        find(record, "subgrade_slope", firm, 1.0)


def test_a_failure_is_checked_again_only_after_something_was_done_about_it(record, firm):
    failed = find(record, "utilities_located", firm, answer=False)

    with pytest.raises(NotAllowedNowError, match="what was done"):
        find(record, "utilities_located", firm, answer=True, rechecks=failed)
    put_right(failed, firm)
    again = find(record, "utilities_located", firm, answer=True, rechecks=failed)

    assert stands(record, "utilities_located") == "passed"
    failed.refresh_from_db()
    assert failed.outcome == "failed"
    assert failed.is_active
    with pytest.raises(AlreadyDoneError, match="checked again already"):
        find(record, "utilities_located", firm, answer=True, rechecks=failed)
    assert again.rechecks == failed


def test_only_a_failure_can_be_put_right(record, firm):
    passed = find(record, "utilities_located", firm, answer=True)

    with pytest.raises(NotAllowedNowError, match="has passed"):
        put_right(passed, firm)


def test_a_finding_of_another_check_cannot_be_checked_again_here(record, firm):
    failed = find(record, "utilities_located", firm, answer=False)
    put_right(failed, firm)

    with pytest.raises(ValidationError, match="another check"):
        find(record, "runoff_kept_out", firm, answer=True, rechecks=failed)


def test_a_corrected_finding_keeps_the_old_one_and_what_hangs_on_it(record, firm):
    failed = find(record, "utilities_located", firm, answer=False)
    work = put_right(failed, firm)
    again = find(record, "utilities_located", firm, answer=True, rechecks=failed)
    new = CheckEntry(construction_check=failed.construction_check, done_on=DAY, note="gas line")

    construction.correct_entry(
        old=failed, new=new, answer=False, by=firm.technician, reason="The note was missing."
    )

    for row in (failed, work, again):
        row.refresh_from_db()
    assert (failed.state, failed.state_reason) == ("replaced", "The note was missing.")
    assert work.entry == new
    assert again.rechecks == new
    assert stands(record, "utilities_located") == "passed"


def test_a_correction_without_a_reason_is_refused(record, firm):
    old = find(record, "utilities_located", firm, answer=False)
    new = CheckEntry(construction_check=old.construction_check, done_on=DAY)

    with pytest.raises(ValidationError, match="Say why"):
        construction.correct_entry(old=old, new=new, answer=True, by=firm.technician, reason=" ")

    old.refresh_from_db()
    assert old.is_active


def test_a_finding_set_aside_no_longer_settles_its_check(record, firm):
    entry = find(record, "utilities_located", firm, answer=True)

    construction.void_entry(entry=entry, by=firm.technician, reason="Wrong site.")

    assert stands(record, "utilities_located") == "open"


def test_a_work_set_aside_has_to_be_entered_again_before_the_recheck(record, firm):
    failed = find(record, "utilities_located", firm, answer=False)
    work = put_right(failed, firm)

    construction.set_work_aside(work=work, by=firm.technician, reason="It was not done.")

    with pytest.raises(NotAllowedNowError, match="what was done"):
        find(record, "utilities_located", firm, answer=True, rechecks=failed)


@pytest.mark.parametrize(
    ("key", "outcome", "who", "allowed"),
    [
        ("utilities_located", "waived", "technician", False),
        ("utilities_located", "waived", "coordinator", True),
        ("utilities_located", "not_needed", "technician", False),
        ("runoff_kept_out", "waived", "technician", False),
        ("runoff_kept_out", "not_needed", "technician", True),
        ("runoff_kept_out", "not_needed", "viewer", False),
        ("acceptance_rate", "not_needed", "technician", False),
        ("utilities_located", "waived", "outsider", False),
    ],
)
def test_a_waiver_and_leaving_out_a_hold_point_need_a_coordinator(record, firm, key, outcome, who, allowed):
    entry = CheckEntry(
        construction_check=check_of(record, key), outcome=outcome, done_on=DAY, reason="No ground is opened."
    )

    if allowed:
        construction.leave_out(entry=entry, by=getattr(firm, who))
        assert stands(record, key) == outcome
    else:
        with pytest.raises(PermissionDenied):
            construction.leave_out(entry=entry, by=getattr(firm, who))
        assert not CheckEntry.objects.exists()


def test_a_waiver_without_a_reason_is_refused_by_service_and_database(record, firm):
    entry = CheckEntry(
        construction_check=check_of(record, "utilities_located"), outcome="waived", done_on=DAY, reason="  "
    )

    with pytest.raises(ValidationError, match="Say why"):
        construction.leave_out(entry=entry, by=firm.coordinator)
    entry.reason = ""
    with pytest.raises(IntegrityError), transaction.atomic():
        entry.save()


def test_a_finding_without_a_reading_or_of_tomorrow_is_refused(record, firm):
    pass_until(record, firm, "bedding_thickness")
    with pytest.raises(ValidationError, match="Enter the reading"):
        find(record, "bedding_thickness", firm)
    tomorrow = firm.site.today() + timedelta(days=1)
    entry = CheckEntry(construction_check=check_of(record, "utilities_located"), done_on=tomorrow)

    with pytest.raises(ValidationError, match="future"):
        construction.record_entry(entry=entry, answer=True, by=firm.technician)


@pytest.fixture
def unjudged(record, firm):
    """A reading that is held against a designed value which nobody entered."""
    pass_until(record, firm, "subgrade_undisturbed")
    return find(record, "subgrade_soil_rate", firm, 12.0)


def with_design(record, firm, value):
    check = check_of(record, "subgrade_soil_rate")
    check.design = value
    return construction.change_criterion(check=check, by=firm.coordinator, reason="Drawing 12")


def test_a_reading_against_an_unknown_design_is_kept_and_settles_nothing(record, firm, unjudged):
    assert (unjudged.outcome, unjudged.reading, unjudged.criterion.design) == ("unjudged", 12.0, None)
    (one,) = [one for one in record_state(record).checks if one.row.key == "subgrade_soil_rate"]
    assert (one.status, one.settled, one.wants_more) == ("unjudged", False, False)


@pytest.mark.parametrize(("design", "outcome"), [(10.0, "passed"), (60.0, "failed")])
def test_the_designed_value_that_is_entered_later_judges_it(record, firm, unjudged, design, outcome):
    with_design(record, firm, design)

    unjudged.refresh_from_db()
    assert (unjudged.outcome, unjudged.criterion.design, unjudged.reading) == (outcome, design, 12.0)


def test_a_reading_that_was_set_aside_meanwhile_is_not_judged(record, firm, unjudged):
    construction.void_entry(entry=unjudged, by=firm.technician, reason="Wrong place")

    with_design(record, firm, 10.0)

    unjudged.refresh_from_db()
    assert unjudged.outcome == "unjudged"


def test_what_was_judged_before_keeps_its_judgement_when_the_design_changes(record, firm, unjudged):
    with_design(record, firm, 10.0)
    with_design(record, firm, 60.0)

    unjudged.refresh_from_db()
    assert (unjudged.outcome, unjudged.criterion.design) == ("passed", 10.0)


def test_a_reading_that_waits_is_corrected_and_waits_on(record, firm, unjudged):
    new = CheckEntry(done_on=unjudged.done_on, reading=13.0, units="si")

    construction.correct_entry(old=unjudged, new=new, by=firm.technician, reason="Misread")

    assert new.outcome == "unjudged"
    with_design(record, firm, 10.0)
    new.refresh_from_db()
    assert new.outcome == "passed"


def test_a_changed_criterion_judges_later_findings_and_stays_in_history(record, firm):
    pass_until(record, firm, "bedding_thickness")
    before = find(record, "bedding_thickness", firm, 35.0)
    check = check_of(record, "bedding_thickness")
    check.least = 30.0

    construction.change_criterion(check=check, by=firm.coordinator, reason="Drawing 12")
    after = find(record, "bedding_thickness", firm, 35.0)

    before.refresh_from_db()
    assert (before.outcome, before.criterion.least) == ("failed", 40.0)
    assert (after.outcome, after.criterion.least) == ("passed", 30.0)
    assert check.source == "Drawing 12"
    assert [h.least for h in check.history.all()] == [30.0, 40.0]
    assert check.history.first().history_user == firm.coordinator


def test_an_own_check_follows_the_others_of_its_stage_and_can_stop_the_work(record, firm):
    own = ConstructionCheck(
        record=record, stage="before_digging", asked="The neighbour was told.", hold_point=True
    )

    construction.add_check(check=own, by=firm.technician)

    before = [s.row.key for s in record_state(record).stages[0].checks]
    assert before[-1] == own.key
    find(record, "utilities_located", firm, answer=True)
    with pytest.raises(NotAllowedNowError, match="neighbour"):
        find(record, "subgrade_slope", firm, 1.0)


def test_an_own_check_with_a_unit_needs_a_bound(record, firm):
    own = ConstructionCheck(record=record, stage="base", asked="The kerb is high enough.", unit="mm")

    with pytest.raises(ValidationError, match="at least one bound"):
        construction.add_check(check=own, by=firm.technician)


def test_sending_a_finding_twice_stores_it_once(record, firm):
    device_id = uuid4()

    first = find(record, "utilities_located", firm, answer=True, device_id=device_id)
    second = find(record, "utilities_located", firm, answer=True, device_id=device_id)

    assert first == second
    assert CheckEntry.objects.count() == 1


def acceptance_round(firm, elapsed_s, spots, on=DAY):
    round_ = RoundFactory(surface=firm.surface, purpose="acceptance", tested_on=on)
    for number in range(spots):
        InfiltrationTestFactory(
            round=round_, spot=f"S{number}", prewet_time_s=20.0, test_mass=18.0, elapsed_s=elapsed_s
        )
    return round_


def test_an_acceptance_round_answers_the_acceptance_checks(record, firm):
    firm.surface.acceptance_rate_mm_h = 2540.0
    firm.surface.save()

    acceptance_round(firm, elapsed_s=100.0, spots=3)

    assert stands(record, "acceptance_rate") == "passed"
    assert stands(record, "acceptance_spots") == "passed"


def test_too_few_spots_fail_and_leave_the_rate_open(record, firm):
    firm.surface.acceptance_rate_mm_h = 2540.0
    firm.surface.save()

    acceptance_round(firm, elapsed_s=100.0, spots=2)

    assert stands(record, "acceptance_spots") == "failed"
    assert stands(record, "acceptance_rate") == "partly"


def test_a_rate_too_low_fails_and_the_last_acceptance_round_decides(record, firm):
    firm.surface.acceptance_rate_mm_h = 2540.0
    firm.surface.save()
    acceptance_round(firm, elapsed_s=2000.0, spots=3)
    assert stands(record, "acceptance_rate") == "failed"

    acceptance_round(firm, elapsed_s=100.0, spots=3, on=DAY + timedelta(days=9))

    assert stands(record, "acceptance_rate") == "passed"
    assert stands(record, "acceptance_spots") == "passed"


def test_an_acceptance_round_set_aside_opens_the_check_again(record, firm):
    firm.surface.acceptance_rate_mm_h = 2540.0
    firm.surface.save()
    round_ = acceptance_round(firm, elapsed_s=100.0, spots=3)
    assert stands(record, "acceptance_rate") == "passed"

    rounds.void_round(round_=round_, by=firm.technician, reason="The ring leaked.")

    assert stands(record, "acceptance_rate") == "open"


def test_a_mean_that_is_only_a_bound_does_not_show_that_the_rate_is_met(record, firm):
    firm.surface.acceptance_rate_mm_h = 2540.0
    firm.surface.save()
    round_ = TestRound.objects.get(pk=acceptance_round(firm, elapsed_s=100.0, spots=2).pk)
    InfiltrationTestFactory(round=round_, spot="S9", elapsed_s=1900.0, ended="still_ponded")

    assert stands(record, "acceptance_rate") == "partly"


def test_an_acceptance_check_takes_no_finding_by_hand(record, firm):
    pass_until(record, firm, "acceptance_rate")

    with pytest.raises(ValidationError, match="test round made for acceptance"):
        find(record, "acceptance_rate", firm, 3000.0)


def test_what_is_asked_at_acceptance_is_not_changed_on_the_check(record, firm):
    with pytest.raises(ValidationError, match="set on the surface"):
        construction.change_criterion(
            check=check_of(record, "acceptance_rate"), by=firm.coordinator, reason="Drawing 12"
        )


def test_the_next_check_skips_stages_that_are_stopped(record, firm):
    state = record_state(record)

    assert state.next_after().row.key == "utilities_located"
    last_before_digging = check_of(record, "runoff_kept_out")
    assert state.next_after(last_before_digging).row.key == "utilities_located"


def test_reading_a_record_takes_the_same_number_of_queries_whatever_it_holds(
    record, firm, django_assert_max_num_queries
):
    pass_until(record, firm, "joint_stone")
    for number in range(5):
        find(record, "bedding_thickness", firm, 45.0 + number, where=f"B{number}")

    with django_assert_max_num_queries(7):
        record_state(ConstructionRecord.objects.select_related("surface__site").get())
