"""Parts of pages that take more than fits on the line of an include."""

from dataclasses import dataclass
from typing import Any

from django import template
from django.core.paginator import Page
from django.forms import BoundField
from django.template.loader import render_to_string
from django.utils.formats import localize as localized
from django.utils.html import format_html, format_html_join, strip_tags
from django.utils.safestring import SafeString, mark_safe
from django_tables2 import Table
from django_tables2.columns import BoundColumn
from django_tables2.rows import BoundRow
from django_tables2.templatetags.django_tables2 import table_page_range
from django_tables2.utils import OrderBy

from core.presentation.charts import Chart
from core.presentation.files import seen_by_firm
from core.presentation.stills.still import still
from core.services import log_context, mail

register = template.Library()
register.filter(seen_by_firm)

NOTICES = {"danger": "notice--danger", "error": "notice--danger", "warning": "notice--caution"}
BADGES = {"success": "tag--good", "warning": "tag--warn"}
BUTTONS = {"danger": "button--danger", "link": "button--quiet", "outline": "", "secondary": ""}
MARKS = {"success": "done", "warning": "caution", "error": "caution"}


@register.simple_block_tag(end_name="endempty_place")
def empty_place(content: str, title: str, url: str = "", action: str = "", may: bool = True) -> str:
    """An empty place: the title, what to do first in its content, and a button where a url is given.

    may: whether the reader may do it. Who may not is told that the place is empty, and offered nothing.
    """
    todo = {"text": content.strip(), "url": url, "action": action} if may else {}
    return render_to_string("parts/_empty.html", {"title": title, **todo})


@register.inclusion_tag("parts/_request_code.html")
def request_code() -> dict[str, str]:
    """What to quote to whoever runs the server, who finds the lines of this request by it."""
    return {"code": log_context.request_id()}


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


@register.simple_tag
def still_of(figure: dict[str, Any], chart_id: str, tall: Any = False) -> SafeString:
    """The first picture of a chart, which needs no script; its words are escaped where it is drawn."""
    return mark_safe(still(figure, chart_id, tall=bool(tall)))


@register.filter
def notice_class(tags: list[str]) -> str:
    """The look of a notice of the sign-in pages, from the first tag that has one."""
    return next((NOTICES[tag] for tag in NOTICES if tag in (tags or ())), "")


@register.filter
def button_class(tags: list[str]) -> str:
    """The look of a button of the sign-in pages, from the first tag that has one."""
    return next((BUTTONS[tag] for tag in BUTTONS if tag in (tags or ())), "button--primary")


@register.filter
def badge_class(tags: list[str]) -> str:
    """The look of a word in a frame on the sign-in pages, from the first tag that has one."""
    return next((BADGES[tag] for tag in BADGES if tag in (tags or ())), "")


@register.filter
def message_role(level: str) -> str:
    """Whether a screen reader breaks off to read a message, or waits."""
    return "alert" if level == "error" else "status"


@register.filter
def message_mark(level: str) -> str:
    """The mark beside a message to the user."""
    return MARKS.get(level, "note")


@register.filter
def field_class(field: BoundField) -> str:
    """The look of a form field: wrong, or as wide as the form where longer text is asked for."""
    is_wide = field.widget_type == "textarea" or getattr(field.field, "wide", False)
    looks = ("field--error" if field.errors else "", "field--wide" if is_wide else "")
    return " ".join(filter(None, looks))


@register.filter
def has_tiles(field: BoundField) -> bool:
    """Whether each choice of a field is a tile of its own."""
    return field.widget_type in ("radioselect", "checkboxselectmultiple")


@register.filter
def sort_direction(alias: OrderBy) -> str:
    """Which way a column is sorted, as a screen reader is told."""
    return "descending" if alias.is_descending else "ascending"


@register.filter
def is_ticked(kind: str) -> bool:
    """Whether an input is a box or a button to tick, with its label behind it."""
    return kind in ("checkbox", "radio")


@register.filter
def is_text_area(kind: str) -> bool:
    """Whether an input takes several lines."""
    return kind == "textarea"


@register.filter
def value_attribute(value: Any) -> SafeString | str:
    """The attribute of an input; none without a value, for then a ticked box sends "on"."""
    return "" if value is None else format_html('value="{}"', value)


@register.filter
def first_input(field: BoundField) -> str:
    """The id of a field's input, or of the first one of a group."""
    return f"{field.auto_id}_0" if field.use_fieldset else field.id_for_label


@register.simple_tag
def table_cells(table: Table, row: BoundRow) -> SafeString:
    """The cells of a row, each with the head of its column for phones.

    What a column says of all its cells is made once. A template would ask for it again in every cell, which on a page
    of fifty rows is most of the time.
    """
    openings = vars(table).setdefault("_cell_openings", {})
    cells = []
    for column, cell in row.items():
        if column.name not in openings:
            openings[column.name] = _opening(column)
        cells.append((openings[column.name], in_language(cell, column.localize)))
    return format_html_join("", "{}<span>{}</span></td>", cells)


def _opening(column: BoundColumn) -> SafeString:
    head = strip_tags(column.header)
    label = format_html(' data-label="{}"', head) if head else ""
    attributes = column.attrs["td"].as_html()
    return format_html("<td{}{}>", label, format_html(" {}", attributes) if attributes else "")


def in_language(cell: Any, localize: bool | None) -> Any:
    """A cell as its column asks: numbers in the reader's language, or plain; as it is where it does not say."""
    return cell if localize is None else localized(cell, use_l10n=localize)


@dataclass(frozen=True, slots=True)
class PageStep:
    """A page in the list of pages; one without a number is a gap."""

    number: int | None
    is_here: bool


@register.filter
def page_steps(page: Page[Any]) -> list[PageStep]:
    """The pages around this one, the first and the last."""
    steps = table_page_range(page, page.paginator)
    return [PageStep(step if isinstance(step, int) else None, step == page.number) for step in steps]


@register.simple_tag
def mail_is_set_up() -> bool:
    """Whether a mail from this server reaches anybody; a page that would send one says where it does not."""
    return mail.is_set_up()
