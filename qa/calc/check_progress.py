"""How a construction check stands, from everything entered against it, and how far a stage has come."""

from collections import Counter
from collections.abc import Collection, Hashable, Iterable, Sequence
from dataclasses import dataclass
from math import ceil

from core.calc.choices import TextChoice
from core.calc.units import UnitSystem
from qa.calc.check_model import STAGE_ORDER, Check, Stage, waiting_hold_points
from qa.calc.check_units import in_units, shown_value
from qa.calc.checks_ground import BASE, SUBBASE


class Outcome(TextChoice):
    """What one entry says."""

    PASSED = "passed", "Passed"
    FAILED = "failed", "Failed"
    WAIVED = "waived", "Waived"
    NOT_NEEDED = "not_needed", "Does not apply"
    UNJUDGED = "unjudged", "Not judged yet"


LEFT_OUT = (Outcome.WAIVED, Outcome.NOT_NEEDED)


class CheckStatus(TextChoice):
    """How a check stands."""

    OPEN = "open", "not checked yet"
    PARTLY = "partly", "readings missing"
    PASSED = Outcome.PASSED.value, "passed"
    FAILED = Outcome.FAILED.value, "failed"
    WAIVED = Outcome.WAIVED.value, "waived"
    NOT_NEEDED = Outcome.NOT_NEEDED.value, "does not apply"
    UNJUDGED = Outcome.UNJUDGED.value, "not judged yet"


SETTLED = frozenset({CheckStatus.PASSED, CheckStatus.WAIVED, CheckStatus.NOT_NEEDED})


@dataclass(frozen=True, slots=True)
class Noted:
    """One entry that counts. rechecks: the entry whose failure it looks at again, None for a first look."""

    id: Hashable
    outcome: Outcome
    rechecks: Hashable | None = None


def status_of(noted: Sequence[Noted], readings_asked: int = 1) -> CheckStatus:
    """How a check stands after its entries, in the order they were made.

    A failure stands until a re-check takes its place, or until the check is waived after it. What waits for
    the designed value to be judged settles nothing.
    """
    stands = CheckStatus.OPEN
    for upto in range(len(noted)):
        stands = _after(noted[: upto + 1], stands, readings_asked)
    return stands


def _after(noted: Sequence[Noted], before: CheckStatus, readings_asked: int) -> CheckStatus:
    latest = noted[-1].outcome
    if latest in LEFT_OUT:
        return CheckStatus(latest.value)
    if before in (CheckStatus.WAIVED, CheckStatus.NOT_NEEDED) and latest in (
        Outcome.PASSED,
        Outcome.UNJUDGED,
    ):
        return before
    if latest is Outcome.FAILED or open_failures(_since_waived(noted)):
        return CheckStatus.FAILED
    if any(one.outcome is Outcome.UNJUDGED for one in _since_waived(noted)):
        return CheckStatus.UNJUDGED
    passed = sum(one.outcome is Outcome.PASSED for one in noted)
    return CheckStatus.PASSED if passed >= readings_asked else CheckStatus.PARTLY


def _since_waived(noted: Sequence[Noted]) -> Sequence[Noted]:
    waived = [i for i, one in enumerate(noted) if one.outcome in LEFT_OUT]
    return noted[waived[-1] + 1 :] if waived else noted


def open_failures(noted: Iterable[Noted]) -> tuple[Hashable, ...]:
    """Ids of failures that no re-check has taken the place of."""
    rows = list(noted)
    looked_at_again = {one.rechecks for one in rows if one.rechecks is not None}
    return tuple(o.id for o in rows if o.outcome is Outcome.FAILED and o.id not in looked_at_again)


@dataclass(frozen=True, slots=True)
class StageProgress:
    """One stage: how many of its checks are settled, what failed, and the hold points that stop it."""

    stage: Stage
    checks: int
    settled: int
    failed: int
    waived: int
    stopped_by: tuple[Check, ...]

    @property
    def done(self) -> bool:
        """Whether nothing is left to do in it."""
        return self.settled == self.checks


def stage_progress(checks: Sequence[Check], standings: dict[str, CheckStatus]) -> tuple[StageProgress, ...]:
    """Progress of each stage that has checks, in the order of building.

    standings: by key of the check; a check that is missing there is open.
    """
    settled = settled_keys(standings)
    return tuple(_progress(stage, checks, standings, settled) for stage in stages_of(checks))


def stages_of(checks: Iterable[Check]) -> tuple[Stage, ...]:
    """The stages that have checks, in the order of building."""
    present = {check.stage for check in checks}
    return tuple(stage for stage in STAGE_ORDER if stage in present)


def settled_keys(standings: dict[str, CheckStatus]) -> frozenset[str]:
    """Keys of the checks that let the work go on: passed, waived, or not needed."""
    return frozenset(key for key, stands in standings.items() if stands in SETTLED)


def _progress(
    stage: Stage, checks: Sequence[Check], standings: dict[str, CheckStatus], settled: Collection[str]
) -> StageProgress:
    here = [check for check in checks if check.stage is stage]
    counts = Counter(standings.get(check.key, CheckStatus.OPEN) for check in here)
    return StageProgress(
        stage=stage,
        checks=len(here),
        settled=sum(counts[one] for one in SETTLED),
        failed=counts[CheckStatus.FAILED],
        waived=counts[CheckStatus.WAIVED],
        stopped_by=waiting_hold_points(checks, settled, stage),
    )


_LIFT = {
    stage: next(c for c in checks if c.key.endswith("_lift"))
    for stage, checks in ((Stage.SUBBASE, SUBBASE), (Stage.BASE, BASE))
}


def lifts_needed(stage: Stage, thickness_mm: float | None, system: UnitSystem = UnitSystem.SI) -> int:
    """Least number of lifts for a layer of stone; 1 where its thickness is unknown or has no limit.

    system: whose sizes count: 12 in go in two lifts of 6 in, though they are more than 300 mm.

    Source: thickest lift as in the checks of the layer (compaction guidance, from memory).
    """
    lift = _LIFT.get(stage)
    most = in_units(lift, system).most if lift else None
    if not thickness_mm or not most:
        return 1
    return max(1, ceil(shown_value(thickness_mm, "mm", system) / most - 1e-9))
