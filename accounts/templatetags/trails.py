"""The trail above the heading: firm, owner, site, surface, and what lies below it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django import template
from django.conf import settings
from django.db.models import Model
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from accounts.models import Organisation

register = template.Library()

# Columns that lead one step up, the nearest first: a test lies below its round, although that is of a surface.
UP = (
    "work",
    "entry",
    "remedy",
    "construction_check",
    "record",
    "test",
    "round",
    "cleaning",
    "training",
    "inspection",
    "finding",
    "surface",
    "site",
    "owner",
)


@dataclass(frozen=True, slots=True)
class Crumb:
    """A step of the trail."""

    title: str
    url: str


@register.simple_block_tag(takes_context=True, end_name="endtrail")
def trail(context: dict[str, Any], content: str, row: Model | None) -> str:
    """The way down to a row and with it, for a page below it; its content are further steps.

    It begins with the firm for its own people, and with the sites of their owner for those who read for one.
    Without a row, as on the page of a document whose site is not known here, it is the content alone.
    """
    current = context.get("current")
    steps = list(steps_to(row, current)) if row is not None else []
    further = mark_safe(
        content.strip()
    )  # rendered by the template around it, which has escaped what it shows
    if not (steps or further):
        return ""
    return render_to_string("parts/_trail.html", {"steps": steps, "content": further})


def steps_to(row: Model, current: Any) -> Iterator[Crumb]:
    """Every step to a row, from the top. A row without a page of its own is passed over."""
    rows = list(_upwards(row))
    firm = rows[-1] if isinstance(rows[-1], Organisation) else getattr(rows[-1], "organisation", None)
    if current is not None and firm is not None and current.acts_for(firm):
        yield Crumb(str(firm), reverse("accounts:firm"))
    else:
        yield Crumb(_("My sites"), str(settings.LOGIN_REDIRECT_URL))
    for one in reversed(rows):
        address = getattr(one, "get_absolute_url", None)
        if address:
            yield Crumb(str(getattr(one, "crumb", "") or one), address())


def _upwards(row: Model) -> Iterator[Model]:
    here: Model | None = row
    while here is not None:
        yield here
        here = _above(here)


def _above(row: Model) -> Model | None:
    columns = {field.name for field in row._meta.concrete_fields if field.is_relation}
    above = (getattr(row, name) for name in UP if name in columns)
    return next((one for one in above if one is not None), None)
