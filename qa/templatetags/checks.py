"""Construction checks in templates."""

from django import template
from django.utils.safestring import SafeString

from qa.models import CheckEntry, ConstructionCheck
from qa.presentation.checks import STATUS_WORDS, criterion_text, found_text, judged_text, source_text

register = template.Library()

MARKS = {
    "passed": ("good", "done"),
    "failed": ("bad", "caution"),
    "waived": ("warn", "aside"),
    "not_needed": ("", "aside"),
    "partly": ("warn", "clock"),
    "open": ("", "clock"),
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
    tone, mark = MARKS[stands]
    return {"tone": tone, "mark": mark, "word": STATUS_WORDS[stands]}  # type: ignore[index]
