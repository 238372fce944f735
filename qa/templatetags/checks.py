"""Construction checks in templates."""

from django import template
from django.utils.safestring import SafeString

from qa.calc.check_progress import CheckStatus
from qa.models import CheckEntry, ConstructionCheck
from qa.presentation.checks import criterion_text, found_text, judged_text, source_text

register = template.Library()

MARKS = {
    CheckStatus.PASSED: ("good", "done"),
    CheckStatus.FAILED: ("bad", "caution"),
    CheckStatus.WAIVED: ("warn", "aside"),
    CheckStatus.NOT_NEEDED: ("", "aside"),
    CheckStatus.PARTLY: ("warn", "clock"),
    CheckStatus.OPEN: ("", "clock"),
}


@register.filter
def criterion(check: ConstructionCheck, units: str) -> str:
    return criterion_text(check, units)


@register.filter
def source(check: ConstructionCheck) -> str:
    return source_text(check)


@register.filter
def judged(entry: CheckEntry, units: str) -> str:
    return judged_text(entry, units)


@register.filter
def found(entry: CheckEntry, units: str) -> str:
    return found_text(entry, units)


@register.inclusion_tag("qa/_check_status.html")
def check_status(stands: str) -> dict[str, SafeString | str]:
    """A check's status by word and mark."""
    status = CheckStatus(stands)
    tone, mark = MARKS[status]
    return {"tone": tone, "mark": mark, "word": status.label}
