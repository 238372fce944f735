from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import SurfaceType
from core.errors import UnusableRecordError
from qa.calc import check_sources as src
from qa.calc.check_model import STAGE_ORDER, Check, HeaviestUse, Stage, evaluate, waiting_hold_points
from qa.calc.checks import checks_for
from qa.calc.checks_ground import overlap_needed
from qa.calc.sources import SourceStatus


def check(key, kind=SurfaceType.PICP, **options):
    return next(c for c in checks_for(kind, **options) if c.key == key)


@pytest.mark.parametrize("kind", SurfaceType)
@pytest.mark.parametrize("use", HeaviestUse)
def test_every_assembly_runs_from_the_ground_up_with_one_check_a_key(kind, use):
    checks = checks_for(kind, use)

    places = [STAGE_ORDER.index(c.stage) for c in checks]
    assert places == sorted(places)
    assert not [key for key, n in Counter(c.key for c in checks).items() if n > 1]
    assert {Stage.SUBGRADE, Stage.GEOTEXTILE, Stage.OVERFLOW, Stage.SUBBASE, Stage.BASE} <= {
        c.stage for c in checks
    }
    assert checks[-1].key == "acceptance_rate"


@pytest.mark.parametrize("kind", SurfaceType)
def test_every_check_says_what_it_asks_from_where_and_what_to_do_otherwise(kind):
    for c in checks_for(kind):
        assert c.asked.endswith(".")
        assert c.otherwise.endswith(".")
        assert c.source.citation
        assert bool(c.range_text) == c.is_number
        assert c.least is None or c.most is None or c.least < c.most


@pytest.mark.parametrize("kind", SurfaceType)
def test_every_bound_itself_passes_and_a_step_beyond_fails(kind):
    for c in checks_for(kind):
        design = 100.0 if c.against_design else None
        for bound, sign in ((c.least, -1), (c.most, 1)):
            if bound is not None:
                step = sign * max(0.01, 0.001 * abs(bound))  # the last of the four digits that are shown
                start = bound + (design or 0.0)
                assert evaluate(c, start, design).passed == (step < 0 or not c.most_excluded)
                assert not evaluate(c, start + step, design).passed


@pytest.mark.parametrize(
    ("key", "kind", "range_text"),
    [
        ("joint_width", SurfaceType.PICP, "6 to 13 mm"),
        ("lippage", SurfaceType.PICP, "at most 3 mm"),
        ("flatness", SurfaceType.PICP, "-10 to 10 mm"),
        ("unit_proportion", SurfaceType.PICP, "at most 3"),
        ("subgrade_slope", SurfaceType.GRAVEL, "at most 2 %"),
        ("resin_moisture", SurfaceType.RESIN_BOUND, "less than 0.5 %"),
        ("overflow_invert", SurfaceType.PICP, "-10 to +10 mm of the design"),
        ("resin_joint_foot", SurfaceType.RESIN_JOINT, "at least 24 h"),
        ("concrete_voids", SurfaceType.PERVIOUS_CONCRETE, "15 to 35 %"),
        ("asphalt_voids", SurfaceType.POROUS_ASPHALT, "16 to 20 %"),
    ],
)
def test_criteria_read_with_their_bounds_and_unit(key, kind, range_text):
    assert check(key, kind).range_text == range_text


def test_a_failed_reading_says_the_value_the_range_and_what_to_do():
    verdict = evaluate(check("overflow_invert"), 172, design=150)

    assert not verdict.passed
    assert verdict.reason == (
        "172 mm, +22 from the design of 150; -10 to +10 mm of the design is asked. "
        "Reset the pipe; its height decides how much water stays to soak away."
    )


def test_a_yes_or_no_is_judged_as_answered():
    c = check("base_open_graded")

    assert evaluate(c, True).passed
    assert evaluate(c, False).reason.startswith("Not as asked: Only open-graded stone is used; dense-graded")


LIFT = Check("lift", Stage.BASE, "Thickness.", src.OWN, "Thinner.", unit="mm", least=10.0, most=20.0)
PLAIN = Check("count", Stage.BASE, "Count.", src.OWN, "More.", least=3.0)


@pytest.mark.parametrize(
    ("reading", "passed"),
    [
        (10.0, True),
        (20.0, True),
        (9.999, False),
        (20.001, True),
        (20.01, False),
        (10 - 1e-12, True),
        (20 + 1e-12, True),
    ],
)
def test_bounds_hold_to_the_last_digit_that_is_shown(reading, passed):
    assert evaluate(LIFT, reading).passed == passed


@pytest.mark.parametrize(
    ("reading", "passed"), [(19.99, True), (19.999, False), (20.0, False), (20 - 1e-12, False)]
)
def test_an_excluded_bound_is_not_met_by_what_reads_like_it(reading, passed):
    assert evaluate(replace(LIFT, most_excluded=True), reading).passed == passed


@pytest.mark.parametrize(
    ("reading", "passed"), [(33.33, True), (33.3333, True), (33.32, False), (33.34, True)]
)
def test_what_reads_like_the_bound_meets_it(reading, passed):
    """A third is shown as 33.33 %: who measures 33.33 % has what is asked."""
    third = replace(check("bedding_thickness"), least=100 / 3, most=None, unit="%", against_design=False)

    verdict = evaluate(third, reading)

    assert verdict.passed is passed
    assert "33.33 % is asked" in verdict.reason.replace("at least ", "")


def test_a_bound_stands_alone_where_there_is_but_one():
    assert PLAIN.range_text == "at least 3"
    assert replace(PLAIN, least=None, most=3.0).range_text == "at most 3"
    assert evaluate(PLAIN, 1e6).passed
    assert evaluate(replace(PLAIN, least=None, most=3.0), -1e6).passed
    assert evaluate(PLAIN, 2).reason == "2; at least 3 is asked. More."
    assert evaluate(PLAIN, 4).reason == "4; at least 3 is asked."


def test_a_bound_of_nothing_against_the_design_has_no_sign():
    against = replace(LIFT, least=0.0, most=5.0, against_design=True)

    assert against.range_text == "0 to +5 mm of the design"
    assert evaluate(against, 103.0, 100.0).reason.startswith("103 mm, +3 from the design of 100;")
    assert not evaluate(against, 99.0, 100.0).passed


def test_a_stage_waits_neither_for_its_own_hold_points_nor_for_later_ones():
    checks = [replace(LIFT, key=stage.value, stage=stage, hold_point=True) for stage in Stage]

    for place, stage in enumerate(STAGE_ORDER):
        assert [c.stage for c in waiting_hold_points(checks, (), stage)] == list(STAGE_ORDER[:place])


@pytest.mark.parametrize(
    ("key", "reading", "design", "message"),
    [
        ("joint_width", True, None, "needs a number in mm, got True"),
        ("joint_width", False, None, "needs a number in mm, got False"),
        ("joint_width", float("inf"), None, "needs a number in mm, got inf"),
        ("unit_proportion", True, None, "needs a number in plain count, got True"),
        ("base_open_graded", 0, None, "is answered yes or no, got 0"),
        ("joint_width", float("nan"), None, "needs a number in mm, got nan"),
        ("base_open_graded", 1.0, None, "is answered yes or no, got 1.0"),
        ("overflow_invert", 150.0, None, "Enter the designed value first"),
    ],
)
def test_an_answer_of_the_wrong_kind_is_refused(key, reading, design, message):
    with pytest.raises(UnusableRecordError, match=message):
        evaluate(check(key), reading, design)


def test_work_waits_for_hold_points_of_earlier_stages_only():
    checks = checks_for(SurfaceType.PICP)

    waiting = waiting_hold_points(checks, {"utilities_located", "subgrade_clean"}, Stage.GEOTEXTILE)

    assert [c.key for c in waiting] == ["subgrade_undisturbed", "subgrade_soil_rate"]
    assert waiting_hold_points(checks, {c.key for c in checks}, Stage.ACCEPTANCE) == ()


def test_foot_traffic_takes_thinner_units():
    assert check("unit_thickness", use=HeaviestUse.FOOT).least == 60
    assert check("unit_thickness", use=HeaviestUse.VEHICLE).least == 80
    assert check("resin_depth", SurfaceType.RESIN_BOUND, use=HeaviestUse.FOOT).least == 15


@pytest.mark.parametrize(
    ("cbr", "overlap"), [(None, 300), (5, 300), (3, 600), (1, 600), (0.9, 1000), (0.5, 1000), (0.4, None)]
)
def test_soft_soil_asks_for_more_overlap_and_the_softest_for_sewing(cbr, overlap):
    needed = overlap_needed(cbr)
    assert (needed and needed.si) == overlap
    assert check("geotextile_overlap", subgrade_cbr=cbr).least == overlap


@given(first=st.floats(0, 10), second=st.floats(0, 10))
def test_softer_soil_never_asks_for_less_overlap(first, second):
    softer, firmer = sorted((first, second))

    soft, firm = overlap_needed(softer), overlap_needed(firmer)
    assert (soft.si if soft else 9999) >= (firm.si if firm else 9999)
    assert (soft.us if soft else 999) >= (firm.us if firm else 999)


def test_a_negative_cbr_is_refused():
    with pytest.raises(UnusableRecordError, match="CBR cannot be negative, got -1"):
        overlap_needed(-1)


@pytest.mark.parametrize(
    ("kind", "key"),
    [
        (SurfaceType.RESIN_JOINT, "resin_joint_foot"),
        (SurfaceType.RESIN_JOINT, "resin_not_tooled"),
        (SurfaceType.RESIN_JOINT, "resin_prewet"),
        (SurfaceType.RESIN_JOINT, "surface_slope"),
        (SurfaceType.PICP, "base_open_graded"),
    ],
)
def test_trade_knowledge_without_a_source_is_marked_so(kind, key):
    assert check(key, kind).source.status is SourceStatus.COMMON_PRACTICE
    assert "no source" in check(key, kind).source.note


@pytest.mark.parametrize("kind", [SurfaceType.PICP, SurfaceType.CLAY, SurfaceType.RESIN_JOINT])
def test_a_bound_bed_is_asked_to_be_bound_and_not_to_be_loose(kind):
    keys = {c.key: c for c in checks_for(kind, bound_bed=True)}

    assert {"bound_mix", "bound_thickness", "bonding_agent", "bound_drains", "bound_cure"} <= set(keys)
    assert not {"bedding_stone", "bedding_thickness", "bedding_loose", "unit_seating"} & set(keys)
    assert keys["bound_cure"].hold_point
    assert not [c for c in keys.values() if "mortar" in c.asked]


def test_loose_bedding_is_asked_to_be_neither_sand_nor_mortar():
    assert "neither sand nor mortar" in check("bedding_stone").asked


def test_the_work_after_a_bound_bed_waits_until_it_has_set():
    checks = checks_for(SurfaceType.RESIN_JOINT, bound_bed=True)

    waiting = waiting_hold_points(checks, {c.key for c in checks} - {"bound_cure"}, Stage.ACCEPTANCE)

    assert [c.key for c in waiting] == ["bound_cure"]


@pytest.mark.parametrize(
    "kind", [SurfaceType.GRAVEL, SurfaceType.POROUS_ASPHALT, SurfaceType.PERVIOUS_CONCRETE]
)
def test_nothing_without_units_is_put_right_by_lifting_them(kind):
    assert not [c.key for c in checks_for(kind) if "lift and" in c.otherwise.casefold()]


@pytest.mark.parametrize("kind", sorted(set(SurfaceType) - {SurfaceType.POROUS_ASPHALT}))
def test_only_porous_asphalt_is_milled(kind):
    """Winston et al. 2016, J. Environ. Manage. 169:132, milled porous asphalt; no source covers another surface."""
    assert not [c.key for c in checks_for(kind) if "mill" in c.otherwise.split()]
