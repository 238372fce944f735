"""The choices of a drop-down list."""

from typing import Any

from django import template
from django.template.loader import render_to_string
from django.utils.formats import localize
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.simple_tag
def choices_of(widget: dict[str, Any]) -> SafeString:
    """The options of a select widget, in their groups where they have some.

    widget: what `Select.get_context` gives under that name. An option with attributes of its own has its template.
    """
    return format_html_join("", "{}", ((_group(name, options),) for name, options, _ in widget["optgroups"]))


def _group(name: Any, options: list[dict[str, Any]]) -> SafeString:
    inside = format_html_join("", "{}", ((_option(option),) for option in options))
    return format_html('<optgroup label="{}">{}</optgroup>', name, inside) if name else inside


def _option(option: dict[str, Any]) -> SafeString:
    if option["attrs"]:
        return mark_safe(render_to_string(option["template_name"], {"widget": option}).strip())
    return format_html('<option value="{}">{}</option>', option["value"], localize(option["label"]))
