"""The construction checks in the handover record: stage by stage, with evidence, corrections and waivers."""

from django.utils.translation import gettext as _

from accounts.calc.audience import Audience, Matter
from core.calc.format import day
from qa.calc.check_progress import CheckStatus, Outcome
from qa.calc.citing import VerifiedSources, cited
from qa.models import CheckEntry, CorrectiveWork
from qa.presentation.checks import criterion_text, found_text, judged_text, readings_text
from qa.selectors.construction import CheckState, RecordState, StageState, TestFinding
from reporting.calc.handover import CheckPart, CorrectivePart, EntryPart, StagePart, TestedPart
from reporting.calc.values import UnitText, in_both
from reporting.selectors.parts import active_file_parts

_TESTED = {True: CheckStatus.PASSED, False: CheckStatus.FAILED, None: CheckStatus.OPEN}


def stage_parts(state: RecordState, audience: Audience, verified: VerifiedSources) -> tuple[StagePart, ...]:
    """The stages from the ground up."""
    return tuple(_stage(stage, audience, verified) for stage in state.stages)


def _stage(stage: StageState, audience: Audience, verified: VerifiedSources) -> StagePart:
    return StagePart(
        name=str(stage.stage.label),
        settled=stage.progress.settled,
        total=stage.progress.checks,
        checks=tuple(_check(one, audience, verified) for one in stage.checks),
    )


def _check(one: CheckState, audience: Audience, verified: VerifiedSources) -> CheckPart:
    row, said = one.row, cited(one.row.as_source, verified)
    criterion = in_both(lambda units: criterion_text(row, units))
    shown = (e for e in one.entries if e.is_active or audience.sees(Matter.SET_ASIDE_RECORDS))
    return CheckPart(
        asked=in_both(lambda units: row.as_read(units).asked),
        criterion=criterion,
        source=said.text,
        unverified=said.unverified,
        hold_point=row.hold_point,
        status=one.status,
        word=one.word,
        contradicts=tuple(in_both(conflict.text) for conflict in one.conflicts),
        readings=readings_text(one),
        entries=tuple(_entry(entry, criterion, audience) for entry in shown),
        tested=tuple(_tested(finding) for finding in one.findings),
    )


def _tested(finding: TestFinding) -> TestedPart:
    outcome = _TESTED[finding.passed]
    word = _("cannot tell yet") if finding.passed is None else outcome.label
    return TestedPart(finding.round.tested_on, in_both(finding.text_in), outcome, word)


def _entry(entry: CheckEntry, criterion: UnitText, audience: Audience) -> EntryPart:
    return EntryPart(
        on=entry.done_on,
        by=audience.shown(Matter.PEOPLE, str(entry.recorded_by or _("unknown")), ""),
        where=entry.where,
        found=in_both(lambda units: found_text(entry, units)),
        judged=_judged(entry, criterion),
        outcome=Outcome(entry.outcome),
        word=Outcome(entry.outcome).in_sentence,
        rechecked=entry.rechecks_id is not None,
        note=audience.shown(Matter.REMARKS, entry.note, ""),
        reason=entry.reason,
        aside="" if entry.is_active else _aside(entry, audience),
        works=tuple(_work(work, audience) for work in entry.works.all() if work.is_active),
        files=active_file_parts(entry.attachments.all(), audience),
    )


def _judged(entry: CheckEntry, criterion: UnitText) -> UnitText | None:
    """What was asked when it was found, None where that is what is asked now."""
    if entry.reading is None:
        return None
    judged = in_both(lambda units: judged_text(entry, units))
    return None if judged == criterion else judged


def _aside(entry: CheckEntry, audience: Audience) -> str:
    said = {
        "state": entry.get_state_display(),
        "day": day(entry.state_at.date()) if entry.state_at else _("an unknown day"),
        "why": entry.state_reason,
    }
    if audience.sees(Matter.PEOPLE):
        return _("{state} by {person} on {day}: {why}").format(person=entry.state_by, **said)
    return _("{state} on {day}: {why}").format(**said)


def _work(work: CorrectiveWork, audience: Audience) -> CorrectivePart:
    return CorrectivePart(
        on=work.done_on,
        by=audience.shown(Matter.PEOPLE, work.done_by, ""),
        what=work.what,
        files=active_file_parts(work.attachments.all(), audience),
    )
