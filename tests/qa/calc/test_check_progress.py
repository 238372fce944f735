import pytest

from core.calc.paving import SurfaceType
from qa.calc.check_model import Stage
from qa.calc.check_progress import (
    CheckStatus,
    Noted,
    Outcome,
    lifts_needed,
    open_failures,
    settled_keys,
    stage_progress,
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
        (Stage.BASE, None, 1),
        (Stage.BEDDING, 500.0, 1),
    ],
)
def test_lifts_follow_from_the_thickest_lift_that_compacts(stage, thickness_mm, lifts):
    assert lifts_needed(stage, thickness_mm) == lifts
