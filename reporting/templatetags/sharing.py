"""Sendings and links in templates."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.utils.timezone import now

from reporting.calc.sharing import LinkState
from reporting.presentation.sharing import Stands, link_stands, opened_words, sending_stands

register = template.Library()


@register.filter
def sending_state(row: Any, zone: ZoneInfo) -> Stands:
    """How a sending stands now. zone: that times are told in, as in all of these."""
    return sending_stands(row, now(), zone)


@register.filter
def link_state(row: Any, zone: ZoneInfo) -> Stands:
    """How a link stands now."""
    return link_stands(row, now(), zone)


@register.filter
def may_be_opened(row: Any) -> bool:
    """Whether a link opens, or would once its address is made."""
    return row.state_at(now()) in (LinkState.OPEN, LinkState.UNSEEN)


@register.filter
def opened(row: Any, zone: ZoneInfo) -> str:
    """How often the link of a row was opened, as its list has counted."""
    last: datetime | None = row.last_opened_at
    return opened_words(row.openings_in_all, last, zone)
