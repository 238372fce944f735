"""Construction checks in templates."""

from django import template
from django.urls import reverse
from django.utils.safestring import SafeString

from qa.calc import citing, standards
from qa.calc.acceptance import Judgement
from qa.calc.check_conflicts import Conflict
from qa.calc.check_progress import CheckStatus
from qa.calc.deviations import Deviation
from qa.calc.sources import Source, SourceStatus
from qa.models import CheckEntry, ConstructionCheck, Surface
from qa.presentation.checks import asked_of_text, asked_then_text, criterion_text, found_text, source_text
from qa.presentation.checks import readings_text as counted_readings
from qa.selectors.construction import CheckState, StageState

register = template.Library()

MARKS = {
    CheckStatus.PASSED: ("good", "done"),
    CheckStatus.FAILED: ("bad", "caution"),
    CheckStatus.WAIVED: ("warn", "aside"),
    CheckStatus.NOT_NEEDED: ("", "aside"),
    CheckStatus.PARTLY: ("warn", "clock"),
    CheckStatus.UNJUDGED: ("warn", "clock"),
    CheckStatus.OPEN: ("", "clock"),
}
FINDINGS = {"failed": "finding--failed", "passed": "record--test"}
JUDGEMENTS = {
    Judgement.PASSES: "",
    Judgement.FAILS: "notice--danger",
    Judgement.CANNOT_TELL: "notice--caution",
    Judgement.TOO_FEW_VALID: "notice--caution",
}


@register.filter
def criterion(check: ConstructionCheck, units: str) -> str:
    return criterion_text(check, units)


@register.filter
def asked(check: ConstructionCheck, units: str) -> str:
    """What must hold, with its sizes in a person's units."""
    return check.as_read(units).asked


@register.filter
def otherwise(check: ConstructionCheck, units: str) -> str:
    """What to do when it does not hold."""
    return check.as_read(units).otherwise


@register.filter
def told(conflict: Conflict, units: str) -> str:
    """A contradiction with the build-up, with both values."""
    return conflict.text(units)


@register.filter
def readings_text(one: CheckState) -> str:
    return counted_readings(one)


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
def check_status(stands: str, word: str = "") -> dict[str, SafeString | str]:
    """A check's status by word and mark; a word of its own says more, such as how many readings are there."""
    status = CheckStatus(stands)
    tone, mark = MARKS[status]
    return {"tone": tone, "mark": mark, "word": word or status.label}


@register.filter
def finding_class(entry: CheckEntry) -> str:
    """The mark of a finding in the timeline of its check."""
    return FINDINGS.get(entry.outcome, "record--cleaning") if entry.is_active else "record--aside"


@register.filter
def judgement_notice(judgement: Judgement) -> str:
    """The look of the notice that says the judgement."""
    return JUDGEMENTS[judgement]


@register.filter
def ring_standard(surface: Surface) -> str:
    """The standard of the ring test on the surface, with how we know it."""
    return standards.ring_standard(surface.surface_type).in_full


@register.filter
def named(source: Source) -> str:
    """The source as pages name it that clients read too."""
    return citing.named(source)


@register.filter
def source_on(deviation: Deviation, surface: Surface) -> str:
    """The source of what a deviation does, as it stands for the surface; of common practice, why it does so."""
    source = deviation.consequence.source_on(surface.surface_type)
    return source.said if source.status is SourceStatus.COMMON_PRACTICE else citing.named(source)


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
