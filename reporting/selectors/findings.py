"""What inspections found, as pieces of a snapshot."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from accounts.calc.audience import Audience, Matter
from core.calc.format import format_short_length, labelled
from qa.calc.inspections import FindingState
from qa.models import Inspection, InspectionFinding, SourceChange, Surface
from qa.selectors.inspections import findings_of, summary_of, well_result, with_findings
from reporting.calc.handover import LookPart
from reporting.calc.parts import FindingPart, RecordLine
from reporting.calc.values import in_both
from reporting.selectors.parts import active_file_parts


def finding_parts(
    rows: Iterable[InspectionFinding], audience: Audience, *, with_files: bool = False
) -> tuple[FindingPart, ...]:
    """Findings as they stand now; those set aside only for who may see such records.

    with_files: for documents that show files as they may be shown on the day they are read.
    """
    return tuple(
        _finding(row, audience, with_files)
        for row in rows
        if row.finding_state is not FindingState.ASIDE or audience.sees(Matter.SET_ASIDE_RECORDS)
    )


def _finding(row: InspectionFinding, audience: Audience, with_files: bool) -> FindingPart:
    remedy = row.remedy
    by = remedy.done_by if remedy else ""
    files = [*row.attachments.all(), *(remedy.attachments.all() if remedy else ())]
    return FindingPart(
        key=row.pk,
        item=str(row.get_item_display()),
        what=row.what,
        place=in_both(lambda units: _place(row, units)),
        severity=str(row.get_severity_display()).lower(),
        advice=row.advice,
        due_on=row.due_on,
        state=row.finding_state,
        state_word=row.finding_state.in_sentence,
        done=remedy.what if remedy and row.finding_state is FindingState.DONE else _why_aside(row),
        done_on=remedy.done_on if remedy else None,
        done_by=audience.shown(Matter.PEOPLE, by, ""),
        files=active_file_parts(files, audience) if with_files else (),
    )


def _why_aside(row: InspectionFinding) -> str:
    return row.state_reason or row.inspection.state_reason


def _place(row: InspectionFinding, units: str) -> str:
    deep = source = ""
    if row.depth_mm is not None:
        deep = _("{depth} below the top").format(depth=format_short_length(row.depth_mm, units))
    if row.comes_from:
        source = _("from {ground}").format(ground=row.comes_from)
    return ", ".join(part for part in (row.where, deep, source) if part)


def still_open(lines: Iterable[RecordLine]) -> tuple[FindingPart, ...]:
    """The findings of these lines that are work, the most pressing first."""
    found = [part for line in lines if line.is_active for part in line.findings if part.is_open]
    return tuple(sorted(found, key=lambda part: part.due_on))


def look_parts(surface: Surface, audience: Audience) -> tuple[LookPart, ...]:
    """The inspections of a surface and the changes of source, oldest first, with their photos."""
    seen = [_look(row, surface, audience) for row in with_findings(surface.inspections.all())]
    changes = [_change(row, audience) for row in surface.source_changes.select_related("recorded_by")]
    shown = (part for part in (*seen, *changes) if not part.aside or audience.sees(Matter.SET_ASIDE_RECORDS))
    return tuple(sorted(shown, key=lambda part: part.on))


def _look(row: Inspection, surface: Surface, audience: Audience) -> LookPart:
    return LookPart(
        on=row.inspected_on,
        by=audience.shown(Matter.PEOPLE, str(row.recorded_by or ""), ""),
        title=_("Inspection"),
        detail=summary_of(row),
        remarks=inspection_remarks(row, surface),
        findings=finding_parts(findings_of(row), audience, with_files=True),
        aside=_aside(row),
    )


def inspection_remarks(row: Inspection, surface: Surface) -> tuple[str, ...]:
    """What the well showed, and how snow is dealt with."""
    well = well_result(row, surface)
    winter = _("Snow and ice: {practice}").format(practice=row.winter_practice) if row.winter_practice else ""
    return tuple(text for text in (well.text if well else "", winter) if text)


def _change(row: SourceChange, audience: Audience) -> LookPart:
    return LookPart(
        on=row.changed_on,
        by=audience.shown(Matter.PEOPLE, str(row.recorded_by or ""), ""),
        title=str(row.get_kind_display()),
        detail=change_words(row),
        remarks=(),
        findings=(),
        aside=_aside(row),
    )


def change_words(row: SourceChange) -> str:
    """What the source is, and what was found or done."""
    return ". ".join(text.rstrip(".") for text in (row.source, row.what)) + "."


def _aside(row: Inspection | SourceChange) -> str:
    return "" if row.is_active else labelled(row.get_state_display(), row.state_reason)
