"""Links and notices of apps above, in templates."""

from typing import Any

from django import template

from core.presentation.links import links_at
from core.presentation.notices import Notice, notices_at

register = template.Library()


@register.simple_tag(takes_context=True)
def offered_links(context: dict[str, Any], place: str, pk: Any = None) -> list[tuple[str, str]]:
    """Label and address of what apps above offer at this place to the person who reads the page."""
    current = context.get("current")
    return links_at(place, current.role if current else 0, pk)


@register.simple_tag(takes_context=True)
def offered_notices(context: dict[str, Any], place: str) -> list[Notice]:
    """What apps above want the person who reads the page to see here."""
    return notices_at(place, context.get("current"))
