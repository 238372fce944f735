"""Reading a construction record, put together for pages and reports in a constant number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from core.calc.format import counted
from core.calc.units import UnitSystem
from qa.calc.acceptance import Judgement
from qa.calc.buildups import LayerKind
from qa.calc.check_conflicts import (
    JOINT_WIDTH,
    OVERFLOW_INVERT,
    Conflict,
    Reading,
    Recorded,
    conflicts_of,
)
from qa.calc.check_model import STAGE_ORDER, Check, Stage, waiting_hold_points
from qa.calc.check_progress import (
    LEFT_OUT,
    SETTLED,
    CheckStatus,
    Noted,
    Outcome,
    StageProgress,
    open_failures,
    settled_keys,
    stage_progress,
    status_of,
)
from qa.calc.rounds import Purpose
from qa.models import (
    CheckEntry,
    ConstructionCheck,
    ConstructionRecord,
    CorrectiveWork,
    Surface,
    TestRound,
)
from qa.selectors.rounds import RoundResult, acceptance_verdict, round_result

SPOTS, RATE = "acceptance_spots", "acceptance_rate"
AUTOMATIC = frozenset({SPOTS, RATE})


@dataclass(frozen=True, slots=True)
class TestFinding:
    """What one acceptance round says to an acceptance check; `passed` is None where it cannot tell."""

    __test__ = False

    key: str
    round: TestRound
    result: RoundResult
    passed: bool | None
    text: str

    def text_in(self, units: str) -> str:
        """What it says, in the reader's units; asks the database nothing."""
        if self.key == SPOTS:
            return self.text
        return acceptance_verdict(self.round.surface, self.result, units).reason

    @property
    def noted(self) -> Noted | None:
        """The finding as an entry; none while the round cannot tell."""
        if self.passed is None:
            return None
        return Noted(self.round.pk, Outcome.PASSED if self.passed else Outcome.FAILED)


@dataclass(frozen=True, slots=True)
class CheckState:
    """One check with everything entered against it, oldest first, and how it stands."""

    row: ConstructionCheck
    check: Check
    status: CheckStatus
    entries: Sequence[CheckEntry]
    to_put_right: Sequence[CheckEntry]
    findings: Sequence[TestFinding] = ()
    conflicts: Sequence[Conflict] = ()
    counted: int = 0

    @property
    def word(self) -> str:
        """How it stands, in words: while readings are missing, how many of how many are there."""
        if self.status is CheckStatus.PARTLY and not self.automatic:
            said = _("{count} of {asked} readings")
            return said.format(count=self.counted, asked=self.row.readings_asked)
        return self.status.label

    @property
    def settled(self) -> bool:
        """Whether the work may go on past it."""
        return self.status in SETTLED

    @property
    def wants_more(self) -> bool:
        """Whether the next reading is one of its own: none waits to be judged, and nothing is to be corrected first."""
        return not (self.settled or self.to_put_right or self.status is CheckStatus.UNJUDGED)

    @property
    def automatic(self) -> bool:
        """Whether a test round answers it."""
        return self.row.key in AUTOMATIC

    @property
    def has_failed(self) -> bool:
        """Whether something is not as asked and not corrected."""
        return self.status is CheckStatus.FAILED

    @property
    def is_left_out(self) -> bool:
        """Whether the check was waived or does not apply, and nothing came after."""
        return self.waiver is not None and self.status == self.waiver.outcome

    @property
    def waiver(self) -> CheckEntry | None:
        """The latest waiver, or 'does not apply', that counts."""
        return next((e for e in reversed(self.entries) if e.is_active and e.outcome in LEFT_OUT), None)


@dataclass(frozen=True, slots=True)
class StageState:
    """One stage with its checks."""

    stage: Stage
    progress: StageProgress
    checks: Sequence[CheckState]

    @property
    def takes_findings(self) -> bool:
        """Whether a finding can be entered now for any of its checks."""
        return not self.progress.stopped_by and any(o.wants_more and not o.automatic for o in self.checks)

    @property
    def practices(self) -> list[CheckState]:
        """Checks that rest on common practice alone, to be read as advice."""
        return [one for one in self.checks if one.row.rests_on_practice]


@dataclass(frozen=True)
class RecordState:
    """The whole record."""

    record: ConstructionRecord
    stages: Sequence[StageState]

    @cached_property
    def checks(self) -> list[CheckState]:
        """All checks in the order of building."""
        return [check for stage in self.stages for check in stage.checks]

    @cached_property
    def settled(self) -> int:
        """How many checks need nothing more."""
        return sum(check.settled for check in self.checks)

    @property
    def complete(self) -> bool:
        """Whether nothing is left to check."""
        return self.settled == len(self.checks)

    def with_status(self, *wanted: str) -> list[CheckState]:
        """Checks that stand so."""
        return [check for check in self.checks if check.status in wanted]

    @property
    def contradicted(self) -> list[CheckState]:
        """Checks that the build-up entered contradicts."""
        return [check for check in self.checks if check.conflicts]

    @property
    def failed(self) -> list[CheckState]:
        return self.with_status(CheckStatus.FAILED)

    @property
    def waived(self) -> list[CheckState]:
        return self.with_status(CheckStatus.WAIVED)

    @property
    def not_needed(self) -> list[CheckState]:
        return self.with_status(CheckStatus.NOT_NEEDED)

    def next_after(self, row: ConstructionCheck | None = None) -> CheckState | None:
        """The next check to take, in the order of building; from the start again after the last."""
        order = self.checks
        here = next((i for i, one in enumerate(order) if row and one.row.pk == row.pk), -1)
        stopped = {s.stage for s in self.stages if s.progress.stopped_by}
        turn = [*order[here + 1 :], *order[: here + 1]]
        waiting = (o for o in turn if not o.settled and o.status is not CheckStatus.UNJUDGED)
        return next((o for o in waiting if o.row.stage not in stopped), None)


def record_state(record: ConstructionRecord, units: str = UnitSystem.SI) -> RecordState:
    """The record with how each check and stage stands."""
    rows = list(_rows_in_order(record))
    findings = acceptance_findings(record, rows, units)
    recorded = recorded_sizes(record.surface)
    states = [_check_state(row, findings.get(row.key, ()), recorded, units) for row in rows]
    progress = stage_progress([s.check for s in states], {s.row.key: s.status for s in states})
    by_stage: dict[str, list[CheckState]] = defaultdict(list)
    for state in states:
        by_stage[state.row.stage].append(state)
    return RecordState(record, [StageState(p.stage, p, by_stage[p.stage]) for p in progress])


def stopping(row: ConstructionCheck, units: str = UnitSystem.SI) -> tuple[Check, ...]:
    """Hold points of earlier stages that the check has to wait for, as a person of these units reads them."""
    # Asked before every finding is stored, so it reads no more than it needs.
    entries = Prefetch("entries", queryset=CheckEntry.objects.order_by("created_at", "pk"))
    held = _in_order_of_building(row.record.checks.filter(hold_point=True).prefetch_related(entries))
    standings = {one.key: status_of(noted_of(one), one.readings_asked) for one in held}
    return waiting_hold_points(
        [one.as_read(units) for one in held], settled_keys(standings), Stage(row.stage)
    )


def _rows_in_order(record: ConstructionRecord) -> list[ConstructionCheck]:
    works = CorrectiveWork.objects.select_related("recorded_by", "state_by").prefetch_related("attachments")
    entries = (
        CheckEntry.objects.select_related("recorded_by", "state_by", "replaces", "replaced_by")
        .order_by("created_at", "pk")
        .prefetch_related(Prefetch("works", queryset=works), "attachments")
    )
    rows = record.checks.select_related("added_by").prefetch_related(Prefetch("entries", queryset=entries))
    return _in_order_of_building(rows)


def _in_order_of_building(rows: Iterable[ConstructionCheck]) -> list[ConstructionCheck]:
    return sorted(rows, key=lambda row: (STAGE_ORDER.index(Stage(row.stage)), row.position))


def recorded_sizes(surface: Surface) -> Recorded:
    """The build-up as it is entered now; layers of one kind count together."""
    thickness: dict[LayerKind, float] = defaultdict(float)
    for layer in surface.layers.all():
        if layer.thickness_mm:
            thickness[LayerKind(layer.kind)] += layer.thickness_mm
    sizes = {JOINT_WIDTH: surface.joint_width_mm, OVERFLOW_INVERT: surface.overflow_invert_mm}
    return Recorded(dict(thickness), {name: size for name, size in sizes.items() if size is not None})


def _conflicts(
    row: ConstructionCheck, noted: Sequence[CheckEntry], recorded: Recorded, complete: bool
) -> Sequence[Conflict]:
    """By the readings that count: a failure that was corrected is no longer there."""
    put_right = {entry.rechecks_id for entry in noted if entry.rechecks_id}
    readings = [
        Reading(entry.reading, entry.where)
        for entry in noted
        if entry.reading is not None and entry.pk not in put_right
    ]
    return conflicts_of(row.as_check, readings, recorded, design_mm=row.design, complete=complete)


def _check_state(
    row: ConstructionCheck, findings: Sequence[TestFinding], recorded: Recorded, units: str
) -> CheckState:
    entries = list(row.entries.all())
    active = _active(row)
    noted = _all_noted(active)
    tested = [one.noted for one in findings if one.noted]
    open_ids = set(open_failures(noted))
    status = _automatic_status(noted, tested) if findings else status_of(noted, row.readings_asked)
    return CheckState(
        row=row,
        check=row.as_read(units),
        status=status,
        entries=entries,
        to_put_right=[entry for entry in entries if entry.pk in open_ids],
        findings=findings,
        conflicts=_conflicts(row, active, recorded, complete=status is CheckStatus.PASSED),
        counted=sum(one.outcome is Outcome.PASSED for one in noted),
    )


def noted_of(row: ConstructionCheck) -> list[Noted]:
    """Its entries that count, as formulas take them."""
    return _all_noted(_active(row))


def _active(row: ConstructionCheck) -> list[CheckEntry]:
    """The entries that count, in the order in which they were found."""
    return [entry for entry in _in_order_found(list(row.entries.all())) if entry.is_active]


def _in_order_found(entries: Sequence[CheckEntry]) -> list[CheckEntry]:
    """A corrected finding stands where the one it replaces stood."""
    by_id = {entry.pk: entry for entry in entries}

    def first_written(entry: CheckEntry) -> datetime:
        while entry.replaces_id in by_id:
            entry = by_id[entry.replaces_id]
        return entry.created_at

    return sorted(entries, key=first_written)


def _automatic_status(waivers: Sequence[Noted], tested: Sequence[Noted]) -> CheckStatus:
    """A waiver stands over the tests; of several acceptance rounds the last decides."""
    if waivers:
        return status_of(waivers)
    return status_of(tested[-1:]) if tested else CheckStatus.PARTLY


def _all_noted(entries: Iterable[CheckEntry]) -> list[Noted]:
    return [Noted(entry.pk, Outcome(entry.outcome), entry.rechecks_id) for entry in entries]


def acceptance_findings(
    record: ConstructionRecord, rows: Iterable[ConstructionCheck], units: str
) -> dict[str, list[TestFinding]]:
    """What the acceptance rounds of the surface say, oldest first, by key of the check."""
    wanted = {row.key: row for row in rows if row.key in AUTOMATIC}
    if not wanted:
        return {}
    rounds = record.surface.rounds.active().filter(purpose=Purpose.ACCEPTANCE)
    found: dict[str, list[TestFinding]] = defaultdict(list)
    for round_ in rounds.order_by("tested_on", "created_at"):
        round_.surface = record.surface
        result = round_result(round_, units)
        if result.statistics or result.invalid:
            for key, row in wanted.items():
                found[key].append(_finding(round_, result, row))
    return found


def _finding(round_: TestRound, result: RoundResult, row: ConstructionCheck) -> TestFinding:
    if row.key == SPOTS:
        return _spots_finding(round_, result)
    verdict = result.acceptance
    if verdict is None:
        raise ValueError(f"{round_} was not made for acceptance, so it cannot answer '{row.asked}'.")
    return TestFinding(row.key, round_, result, _AS_PASSED[verdict.judgement], verdict.reason)


def _spots_finding(round_: TestRound, result: RoundResult) -> TestFinding:
    said = _("{spots} of at least {needed} spots tested with the ring.")
    text = said.format(spots=result.spots, needed=result.needed)
    if result.invalid:
        left_out = _("{tests} left out: see the round for why.")
        text += " " + left_out.format(tests=counted(len(result.invalid), "test"))
    # A round in which no test counts says nothing; an earlier one stands.
    passed = result.spots >= result.needed if result.asks_for_spots and result.statistics else None
    return TestFinding(SPOTS, round_, result, passed, text)


_AS_PASSED = {
    Judgement.PASSES: True,
    Judgement.FAILS: False,
    Judgement.CANNOT_TELL: None,
    Judgement.TOO_FEW_VALID: None,
}
