"""Construction checks in templates."""

from django import template
from django.urls import reverse
from django.utils.safestring import SafeString

from qa.calc.acceptance import Judgement
from qa.calc.check_progress import CheckStatus
from qa.models import CheckEntry, ConstructionCheck
from qa.presentation.checks import asked_of_text, asked_then_text, criterion_text, found_text, source_text
from qa.selectors.construction import CheckState, StageState

register = template.Library()

MARKS = {
    CheckStatus.PASSED: ("good", "done"),
    CheckStatus.FAILED: ("bad", "caution"),
    CheckStatus.WAIVED: ("warn", "aside"),
    CheckStatus.NOT_NEEDED: ("", "aside"),
    CheckStatus.PARTLY: ("warn", "clock"),
    CheckStatus.OPEN: ("", "clock"),
}
FINDINGS = {"failed": "finding--failed", "passed": "record--test"}
JUDGEMENTS = {
    Judgement.PASSES: "",
    Judgement.FAILS: "notice--danger",
    Judgement.CANNOT_TELL: "notice--caution",
}


@register.filter
def criterion(check: ConstructionCheck, units: str) -> str:
    return criterion_text(check, units)


@register.filter
def asked_of(check: ConstructionCheck) -> str:
    return asked_of_text(check)


@register.filter
def source(check: ConstructionCheck) -> str:
    return source_text(check)


@register.filter
def asked_then(entry: CheckEntry, units: str) -> str:
    return asked_then_text(entry, units)


@register.filter
def found(entry: CheckEntry, units: str) -> str:
    return found_text(entry, units)


@register.inclusion_tag("qa/_check_status.html")
def check_status(stands: str) -> dict[str, SafeString | str]:
    """A check's status by word and mark."""
    status = CheckStatus(stands)
    tone, mark = MARKS[status]
    return {"tone": tone, "mark": mark, "word": status.label}


@register.filter
def finding_class(entry: CheckEntry) -> str:
    """The mark of a finding in the timeline of its check."""
    return FINDINGS.get(entry.outcome, "record--cleaning") if entry.is_active else "record--aside"


@register.filter
def judgement_notice(judgement: Judgement) -> str:
    """The look of the notice that says the judgement."""
    return JUDGEMENTS[judgement]


@register.filter
def stage_class(stage: StageState) -> str:
    """The mark of a stage in the list of stages."""
    if stage.progress.failed:
        return "stage--failed"
    if stage.progress.stopped_by:
        return "stage--stopped"
    return "stage--done" if stage.progress.done else ""


@register.filter
def next_url(state: CheckState) -> str:
    """Where to go on with a check: its form, or its page where a test answers it or a failure waits."""
    if state.automatic or state.to_put_right:
        return state.row.get_absolute_url()
    return reverse("qa:check-record", args=[state.row.pk])
