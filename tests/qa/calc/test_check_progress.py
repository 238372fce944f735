import pytest

from core.calc.paving import SurfaceType
from qa.calc.check_model import Stage
from qa.calc.check_progress import (
    SETTLED,
    CheckStatus,
    Noted,
    Outcome,
    lifts_needed,
    open_failures,
    settled_keys,
    stage_progress,
    stages_of,
    status_of,
)
from qa.calc.checks import checks_for

P, F, W, N = Outcome.PASSED, Outcome.FAILED, Outcome.WAIVED, Outcome.NOT_NEEDED


@pytest.mark.parametrize(
    ("noted", "asked", "expected"),
    [
        ((), 1, CheckStatus.OPEN),
        ((Noted(1, P),), 1, CheckStatus.PASSED),
        ((Noted(1, P),), 2, CheckStatus.PARTLY),
        ((Noted(1, P), Noted(2, P)), 2, CheckStatus.PASSED),
        ((Noted(1, F),), 1, CheckStatus.FAILED),
        ((Noted(1, F), Noted(2, P)), 1, CheckStatus.FAILED),  # another spot passed; the failure still stands
        ((Noted(1, F), Noted(2, P, 1)), 1, CheckStatus.PASSED),
        ((Noted(1, F), Noted(2, F, 1)), 1, CheckStatus.FAILED),
        ((Noted(1, F), Noted(2, F, 1), Noted(3, P, 2)), 1, CheckStatus.PASSED),
        ((Noted(1, F), Noted(2, F), Noted(3, P, 1)), 1, CheckStatus.FAILED),
        ((Noted(1, F), Noted(2, W)), 1, CheckStatus.WAIVED),
        ((Noted(1, W), Noted(2, P)), 1, CheckStatus.WAIVED),
        ((Noted(1, W), Noted(2, F)), 1, CheckStatus.FAILED),
        ((Noted(1, W), Noted(2, F), Noted(3, P, 2)), 1, CheckStatus.PASSED),
        ((Noted(1, N),), 3, CheckStatus.NOT_NEEDED),
        ((Noted(1, N), Noted(2, P)), 1, CheckStatus.NOT_NEEDED),
        ((Noted(1, N), Noted(2, F)), 1, CheckStatus.FAILED),
        ((Noted(1, F), Noted(2, W), Noted(3, P)), 1, CheckStatus.WAIVED),
        ((Noted(1, F), Noted(2, W), Noted(3, F), Noted(4, P, 3)), 1, CheckStatus.PASSED),
        ((Noted(1, W), Noted(2, F), Noted(3, W)), 1, CheckStatus.WAIVED),
        ((Noted(1, W), Noted(2, N)), 1, CheckStatus.NOT_NEEDED),
        ((Noted(1, F), Noted(2, N), Noted(3, F), Noted(4, P)), 1, CheckStatus.FAILED),
        ((Noted(1, P), Noted(2, P), Noted(3, F), Noted(4, P, 3)), 4, CheckStatus.PARTLY),
        ((Noted(1, P), Noted(2, P), Noted(3, P), Noted(4, P)), 4, CheckStatus.PASSED),
    ],
)
def test_a_failure_stands_until_checked_again_or_waived(noted, asked, expected):
    assert status_of(noted, asked) is expected


def test_a_recheck_that_no_longer_counts_opens_the_failure_again():
    both = [Noted(1, F), Noted(2, P, rechecks=1)]

    assert open_failures(both) == ()
    assert open_failures(both[:1]) == (1,)


def test_an_unsettled_hold_point_stops_every_later_stage_and_no_earlier_one():
    checks = checks_for(SurfaceType.PICP)
    all_but_one = {c.key: CheckStatus.PASSED for c in checks if c.key != "geotextile_overlap"}

    stopped = {p.stage: [c.key for c in p.stopped_by] for p in stage_progress(checks, all_but_one)}

    assert stopped[Stage.GEOTEXTILE] == []
    assert stopped[Stage.SUBGRADE] == []
    assert stopped[Stage.OVERFLOW] == ["geotextile_overlap"]
    assert stopped[Stage.ACCEPTANCE] == ["geotextile_overlap"]


def test_a_stage_is_done_when_nothing_in_it_is_open_and_tells_what_failed():
    checks = checks_for(SurfaceType.PICP)
    here = [c.key for c in checks if c.stage is Stage.OVERFLOW]
    standings = dict(
        zip(here, (CheckStatus.PASSED, CheckStatus.NOT_NEEDED, CheckStatus.FAILED), strict=False)
    )

    (overflow,) = [p for p in stage_progress(checks, standings) if p.stage is Stage.OVERFLOW]

    assert (overflow.checks, overflow.settled, overflow.failed, overflow.waived) == (4, 2, 1, 0)
    assert not overflow.done
    (all_settled,) = [
        p
        for p in stage_progress(checks, dict.fromkeys(here, CheckStatus.NOT_NEEDED))
        if p.stage is Stage.OVERFLOW
    ]
    assert all_settled.done


def test_stages_without_checks_are_left_out_and_the_others_stand_in_the_order_of_building():
    gravel = stages_of(checks_for(SurfaceType.GRAVEL))

    assert Stage.JOINTS not in gravel
    assert list(gravel) == [stage for stage in Stage if stage in gravel]


@pytest.mark.parametrize("stands", CheckStatus)
def test_only_passed_waived_and_not_needed_let_the_work_go_on(stands):
    settled = {CheckStatus.PASSED, CheckStatus.WAIVED, CheckStatus.NOT_NEEDED}

    assert settled_keys({"a": stands}) == (frozenset({"a"}) if stands in settled else frozenset())


def test_a_waived_hold_point_lets_the_work_go_on_and_is_counted():
    checks = checks_for(SurfaceType.PICP)
    standings = {c.key: CheckStatus.PASSED for c in checks} | {"geotextile_overlap": CheckStatus.WAIVED}

    progress = {p.stage: p for p in stage_progress(checks, standings)}

    assert "geotextile_overlap" in settled_keys(standings)
    assert progress[Stage.OVERFLOW].stopped_by == ()
    assert progress[Stage.GEOTEXTILE].waived == 1
    assert progress[Stage.GEOTEXTILE].done


@pytest.mark.parametrize(
    ("stage", "thickness_mm", "lifts"),
    [
        (Stage.SUBBASE, 300.0, 1),
        (Stage.SUBBASE, 301.0, 2),
        (Stage.SUBBASE, 900.0, 3),
        (Stage.BASE, 100.0, 1),
        (Stage.BASE, 151.0, 2),
        (Stage.BASE, 150.0, 1),
        (Stage.BASE, 300.0, 2),
        (Stage.BASE, 0.0, 1),
        (Stage.BASE, 150.0 + 1e-7, 1),
        (Stage.SUBBASE, 300.1, 2),
        (Stage.BASE, None, 1),
        (Stage.BEDDING, 500.0, 1),
    ],
)
def test_lifts_follow_from_the_thickest_lift_that_compacts(stage, thickness_mm, lifts):
    assert lifts_needed(stage, thickness_mm) == lifts


@pytest.mark.parametrize(
    ("outcomes", "stands"),
    [
        ([Outcome.UNJUDGED], CheckStatus.UNJUDGED),
        ([Outcome.PASSED, Outcome.UNJUDGED], CheckStatus.UNJUDGED),
        ([Outcome.UNJUDGED, Outcome.PASSED], CheckStatus.UNJUDGED),
        ([Outcome.UNJUDGED, Outcome.FAILED], CheckStatus.FAILED),
        ([Outcome.FAILED, Outcome.UNJUDGED], CheckStatus.FAILED),
        ([Outcome.UNJUDGED, Outcome.WAIVED], CheckStatus.WAIVED),
        ([Outcome.WAIVED, Outcome.UNJUDGED], CheckStatus.WAIVED),
        ([Outcome.UNJUDGED, Outcome.WAIVED, Outcome.FAILED], CheckStatus.FAILED),
    ],
)
def test_what_waits_for_the_design_neither_passes_nor_hides_a_failure(outcomes, stands):
    noted = [Noted(i, outcome) for i, outcome in enumerate(outcomes)]

    assert status_of(noted) is stands
    assert CheckStatus.UNJUDGED not in SETTLED
