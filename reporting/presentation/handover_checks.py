"""The construction checks in the handover record: stage by stage, with evidence, corrections and waivers."""

from collections.abc import Iterable
from dataclasses import dataclass

from core.calc.format import day
from core.models.files import StoredFile
from qa.models import CheckEntry, CorrectiveWork
from qa.presentation.checks import criterion_text, found_text, judged_text, source_text
from qa.selectors.construction import CheckState, RecordState, StageState


@dataclass(frozen=True, slots=True)
class FilePart:
    """A photo or a PDF; `key` finds its small picture."""

    key: str
    what: str
    is_photo: bool
    url: str
    thumbnail_url: str


@dataclass(frozen=True, slots=True)
class WorkPart:
    """What was done about a failure."""

    on: str
    by: str
    what: str
    files: list[FilePart]


@dataclass(frozen=True, slots=True)
class EntryPart:
    """One finding. `judged`: what was asked then, where it differs; `aside`: why it no longer counts, if so."""

    on: str
    by: str
    where: str
    found: str
    judged: str
    outcome: str
    word: str
    rechecked: bool
    note: str
    reason: str
    aside: str
    works: list[WorkPart]
    files: list[FilePart]


@dataclass(frozen=True, slots=True)
class TestedPart:
    """What an acceptance round says to a check."""

    on: str
    text: str
    outcome: str
    word: str


@dataclass(frozen=True, slots=True)
class CheckPart:
    """One check with everything found."""

    asked: str
    criterion: str
    source: str
    hold_point: bool
    status: str
    word: str
    entries: list[EntryPart]
    tested: list[TestedPart]


@dataclass(frozen=True, slots=True)
class StagePart:
    """One stage of the work."""

    name: str
    settled: int
    total: int
    checks: list[CheckPart]


def stage_parts(state: RecordState, units: str) -> list[StagePart]:
    """The stages from the ground up."""
    return [_stage(stage, units) for stage in state.stages]


def file_parts(rows: Iterable[StoredFile]) -> list[FilePart]:
    """The files that count, as plain data."""
    return [
        FilePart(str(row.pk), str(row), row.is_photo, row.file_url(), row.thumbnail_url())  # type: ignore[attr-defined]
        for row in rows
        if row.is_active
    ]


def _stage(stage: StageState, units: str) -> StagePart:
    checks = [_check(one, units) for one in stage.checks]
    return StagePart(str(stage.stage.label), stage.progress.settled, stage.progress.checks, checks)


def _check(one: CheckState, units: str) -> CheckPart:
    row = one.row
    criterion = criterion_text(row, units)
    return CheckPart(
        asked=row.asked,
        criterion=criterion,
        source=source_text(row),
        hold_point=row.hold_point,
        status=one.status.value,
        word=one.status.label,
        entries=[_entry(entry, criterion, units) for entry in one.entries],
        tested=[_tested(day(f.round.tested_on), f.text, f.passed) for f in one.findings],
    )


_TESTED = {True: ("passed", "passed"), False: ("failed", "failed"), None: ("open", "cannot tell yet")}


def _tested(on: str, text: str, passed: bool | None) -> TestedPart:
    return TestedPart(on, text, *_TESTED[passed])


def _entry(entry: CheckEntry, criterion: str, units: str) -> EntryPart:
    judged = judged_text(entry, units) if entry.reading is not None else ""
    return EntryPart(
        on=day(entry.done_on),
        by=str(entry.recorded_by or "unknown"),
        where=entry.where,
        found=found_text(entry, units),
        judged="" if judged == criterion else judged,
        outcome=entry.outcome,
        word=str(entry.get_outcome_display()).lower(),
        rechecked=entry.rechecks_id is not None,
        note=entry.note,
        reason=entry.reason,
        aside="" if entry.is_active else _aside(entry),
        works=[_work(work) for work in entry.works.all() if work.is_active],
        files=file_parts(entry.attachments.all()),
    )


def _aside(entry: CheckEntry) -> str:
    on = day(entry.state_at.date()) if entry.state_at else "an unknown day"
    return f"{entry.get_state_display()} by {entry.state_by} on {on}: {entry.state_reason}"


def _work(work: CorrectiveWork) -> WorkPart:
    return WorkPart(day(work.done_on), work.done_by, work.what, file_parts(work.attachments.all()))
