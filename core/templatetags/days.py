"""Days and times of day in every template, as the reader's language writes them."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django import template

from core.calc.format import NOTHING, day, day_in, moment, month, short_month, weekday

register = template.Library()
for said in (day, day_in, month, short_month, weekday):
    register.filter(said)


@register.filter(name="moment")
def moment_in(at: datetime | None, zone: ZoneInfo | str | None = None) -> str:
    """A day and a time of day by the clocks of a time zone; in UTC, which is then said, without one."""
    return moment(at, zone) if at else NOTHING
