"""Names of what is done, in templates."""

from django import template

from maintenance.calc.text import speak
from maintenance.models import CleaningMethod

register = template.Library()


@register.filter
def method_name(key: str) -> str:
    """The words for a cleaning method."""
    return CleaningMethod(key).label


@register.filter
def spoken(sentence: str, units: str) -> str:
    """A stored sentence with its numbers in the reader's units."""
    return speak(sentence, units)
