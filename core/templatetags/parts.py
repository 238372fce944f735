"""Parts of pages that take more than fits on the line of an include."""

from typing import Any

from django import template
from django.forms import BoundField
from django.template.loader import render_to_string
from django_tables2.utils import OrderBy

from core.presentation.charts import Chart
from core.presentation.files import seen_by_firm

register = template.Library()
register.filter(seen_by_firm)

NOTICES = {"danger": "notice--danger", "error": "notice--danger", "warning": "notice--caution"}
BUTTONS = {"danger": "button--danger", "link": "button--quiet", "outline": "", "secondary": ""}
MARKS = {"success": "done", "warning": "caution", "error": "caution"}


@register.simple_block_tag(end_name="endempty_place")
def empty_place(content: str, title: str, url: str = "", action: str = "") -> str:
    """An empty place: the title, what to do first in its content, and a button where a url is given."""
    context = {"title": title, "text": content.strip(), "url": url, "action": action}
    return render_to_string("parts/_empty.html", context)


@register.inclusion_tag("parts/_chart.html", name="chart")
def chart_part(chart: Chart) -> dict[str, Any]:
    return {
        "chart_id": chart.key,
        "figure": chart.figure,
        "title": chart.title,
        "summary": chart.summary,
        "columns": chart.columns,
        "rows": chart.rows,
        "tall": chart.tall,
    }


@register.filter
def notice_class(tags: list[str]) -> str:
    """The look of a notice of the sign-in pages, from the first tag that has one."""
    return next((NOTICES[tag] for tag in NOTICES if tag in (tags or ())), "")


@register.filter
def button_class(tags: list[str]) -> str:
    """The look of a button of the sign-in pages, from the first tag that has one."""
    return next((BUTTONS[tag] for tag in BUTTONS if tag in (tags or ())), "button--primary")


@register.filter
def message_mark(level: str) -> str:
    """The mark beside a message to the user."""
    return MARKS.get(level, "note")


@register.filter
def field_class(field: BoundField) -> str:
    """The look of a form field: wrong, or as wide as the form where longer text is asked for."""
    looks = ("field--error" if field.errors else "", "field--wide" if field.widget_type == "textarea" else "")
    return " ".join(filter(None, looks))


@register.filter
def has_tiles(field: BoundField) -> bool:
    """Whether each choice of a field is a tile of its own."""
    return field.widget_type in ("radioselect", "checkboxselectmultiple")


@register.filter
def sort_direction(alias: OrderBy) -> str:
    """Which way a column is sorted, as a screen reader is told."""
    return "descending" if alias.is_descending else "ascending"
