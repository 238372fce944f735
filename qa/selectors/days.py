"""Which calendar day it is for a firm, by the clocks where most of what it looks after lies."""

from collections import Counter
from collections.abc import Iterable
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.timezone import now

from accounts.models import Organisation


def usual_zone(time_zones: Iterable[str] | Counter[str]) -> ZoneInfo:
    """The most frequent of the time zones, which may be counted already; UTC without any."""
    counted = Counter(time_zones).items()
    name, _sites = min(counted, key=lambda zone: (-zone[1], zone[0]), default=("UTC", 0))
    return ZoneInfo(name)


def usual_date(time_zones: Iterable[str] | Counter[str], at: datetime) -> date:
    """The calendar date in the most frequent of the time zones; in UTC without any."""
    return at.astimezone(usual_zone(time_zones)).date()


def firm_zone(organisation: Organisation) -> ZoneInfo:
    """The time zone in which most sites of a firm lie."""
    return usual_zone(organisation.sites.values_list("time_zone", flat=True))


def firm_date(organisation: Organisation, at: datetime) -> date:
    """The calendar date of an instant where most sites of a firm lie."""
    return at.astimezone(firm_zone(organisation)).date()


def firm_today(organisation: Organisation) -> date:
    """The calendar date where most sites of a firm lie."""
    return firm_date(organisation, now())
