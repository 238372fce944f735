"""Visits as a calendar that other programs read, by RFC 5545 and RFC 7986."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from icalendar import Calendar, Event, Timezone, TimezoneDaylight, TimezoneStandard

from planning.calc.feed_events import FeedEvent
from planning.calc.zone_rules import Observance, observances

PRODUCT = "-//Rainthrough//Visits//EN"
UTC_NAME = "UTC"  # written with a Z, without rules
MARGIN = timedelta(days=2)
ASK_AGAIN = timedelta(hours=1)
DAYS_ONLY = gettext_noop("How to get in, and what has to be known on site, stands on the visit's page.")


def feed_text(name: str, events: Iterable[FeedEvent], *, of_firm: bool) -> bytes:
    """The calendar, with the rules of the time zones that it names. of_firm: whether the firm's people read it."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", ASK_AGAIN, parameters={"value": "DURATION"})
    listed = list(events)
    for zone in _zones(listed):
        calendar.add_component(zone)
    for event in listed:
        calendar.add_component(_event(event, of_firm))
    return bytes(calendar.to_ical())


def _zones(events: Sequence[FeedEvent]) -> Iterator[Timezone]:
    """The rules of each zone from the first appointment in it to the last, change by change.

    Some programs read no recurring rules that begin decades ago, or lists of dates in their place; all read these.
    """
    by_zone: dict[str, list[FeedEvent]] = defaultdict(list)
    for event in events:
        by_zone[str(event.begins.tzinfo)].append(event)
    for name, found in sorted(by_zone.items()):
        if name != UTC_NAME:
            first, last = min(e.begins for e in found), max(e.ends for e in found)
            yield _zone(name, observances(name, first - MARGIN, last + MARGIN))


def _zone(name: str, rules: Sequence[Observance]) -> Timezone:
    made = Timezone()
    made.add("tzid", name)
    for rule in rules:
        part = TimezoneDaylight() if rule.is_summer else TimezoneStandard()
        part.add("dtstart", rule.onset)
        part.add("tzoffsetfrom", rule.before)
        part.add("tzoffsetto", rule.after)
        part.add("tzname", rule.name)
        made.add_component(part)
    return made


def _event(event: FeedEvent, of_firm: bool) -> Event:
    made = Event()
    made.add("uid", event.uid)
    made.add("dtstamp", event.changed_at)
    made.add("last-modified", event.changed_at)
    made.add("sequence", event.revision)
    made.add("summary", event.title)
    made.add("dtstart", event.begins)
    made.add("dtend", event.ends)
    made.add("status", "CANCELLED" if event.is_cancelled else "CONFIRMED")
    made.add("transp", "TRANSPARENT" if event.is_cancelled else "OPAQUE")
    made.add("description", "\n".join([*event.work, *([_(DAYS_ONLY)] if of_firm else [])]))
    made.add("url", event.url)
    if event.where:
        made.add("location", event.where)
    if event.place:
        made.add("geo", event.place)
    return made
