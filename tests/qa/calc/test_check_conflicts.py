"""A check that contradicts the build-up says both values and what to do."""

import pytest

from core.calc.paving import SurfaceType
from qa.calc.buildups import LayerKind
from qa.calc.check_conflicts import JOINT_WIDTH, ConflictKind, Reading, Recorded, conflicts_of, sum_of_lifts
from qa.calc.checks import checks_for

BUILT = Recorded(
    {
        LayerKind.SURFACE_COURSE: 70.0,
        LayerKind.BASE: 100.0,
        LayerKind.SUBBASE: 450.0,
        LayerKind.BEDDING: 45.0,
    },
    {JOINT_WIDTH: 8.0},
)


def check(key, kind=SurfaceType.PICP):
    return next(c for c in checks_for(kind) if c.key == key)


def found(key, *readings, design=None, complete=True, recorded=BUILT, kind=SurfaceType.PICP):
    taken = [one if isinstance(one, Reading) else Reading(one) for one in readings]
    return conflicts_of(check(key, kind), taken, recorded, design_mm=design, complete=complete)


def test_units_thicker_than_the_course_they_lie_in_are_told_with_both_values():
    (conflict,) = found("unit_thickness", 90.6)

    assert conflict.kind is ConflictKind.READ
    assert conflict.text("si") == (
        "The thickness of the units measured 90.6 mm on average; the build-up says 70 mm. "
        "Measure again, or correct the build-up to what was built."
    )
    assert "3.57 in" in conflict.text("us")


@pytest.mark.parametrize(("read", "contradicts"), [(74.9, False), (75.1, True), (65.0, False), (64.9, True)])
def test_what_lies_within_the_tolerance_is_the_same(read, contradicts):
    assert bool(found("unit_thickness", read)) == contradicts


def test_lifts_that_do_not_add_up_to_the_layer_are_told():
    (conflict,) = found("subbase_lift", Reading(200.0, "lift 1, A"), Reading(180.0, "Lift 2, A"))

    assert conflict.kind is ConflictKind.LIFTS
    assert conflict.there_mm == 380.0
    assert "add up to 380 mm; the build-up says 450 mm" in conflict.text("si")


def test_readings_of_one_lift_at_several_places_are_not_added():
    taken = [Reading(220.0, "lift 1, A"), Reading(230.0, "LIFT 1, B"), Reading(225.0, "lift 2")]

    assert sum_of_lifts(taken) == 450.0
    assert sum_of_lifts([Reading(150.0), Reading(150.0)]) == 300.0


def test_lifts_still_to_come_are_not_missed_but_too_much_is_told_at_once():
    assert found("subbase_lift", 200.0, complete=False) == ()
    assert found("subbase_lift", 300.0, 300.0, complete=False)


def test_a_base_deeper_than_recorded_is_told():
    (conflict,) = found("base_thickness", 148.0, 152.0, design=100.0)

    assert (conflict.there_mm, conflict.recorded_mm) == (150.0, 100.0)


def test_a_design_that_the_build_up_no_longer_has_is_told():
    (conflict,) = found("base_thickness", design=150.0)

    assert conflict.kind is ConflictKind.DESIGN
    assert "with a design of 150 mm; the build-up now says 100 mm" in conflict.text("si")


def test_a_course_that_cannot_meet_what_is_asked_is_told_before_anything_is_read():
    (conflict,) = found("unit_thickness")

    told = conflict.text("si")
    assert told.startswith("The thickness of the units is asked to be at least 80 mm; the build-up says 70")
    assert "at least 3 1/8 in" in conflict.text("us")


@pytest.mark.parametrize("recorded_mm", [80.0, 79.375])
def test_what_is_as_asked_in_either_half_of_the_trade_is_no_contradiction(recorded_mm):
    assert found("unit_thickness", recorded=Recorded({LayerKind.SURFACE_COURSE: recorded_mm})) == ()


def test_nothing_is_said_where_nothing_is_recorded_or_nothing_compares():
    assert found("unit_thickness", 90.6, recorded=Recorded({})) == ()
    assert found("flatness", 90.6) == ()
    assert found("joint_width", 12.0, design=8.0)
    assert found("joint_width", 9.0, design=8.0) == ()
