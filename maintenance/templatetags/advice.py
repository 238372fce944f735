"""Names of what is done, in templates."""

from django import template

from maintenance.models import CleaningMethod

register = template.Library()


@register.filter
def method_name(key: str) -> str:
    """The words for a cleaning method."""
    return CleaningMethod(key).label
