"""Changes in words, for whoever administers a firm."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db import models
from django.urls import reverse
from django.utils.translation import gettext as _

from accounts.models import User
from core.calc.format import day, moment
from core.calc.marks import marked
from core.calc.units import shortened
from operations.selectors.trail import TrailRow, Versions, versions_of

UNTOLD = frozenset({"created_at", "device_id", "revision", "changed_at", "record_version"})
LONGEST = 120  # signs of a value that is told; a note may be pages long
CSV_HEADS = ("when", "who", "what", "how", "about", "changed", "reason")


@dataclass(frozen=True, slots=True)
class TrailLine:
    """A change as the page shows it. changes: each value, before and after."""

    when: str
    title: str
    tag: str
    about: str
    url: str
    who: str
    changes: tuple[str, ...]
    reason: str


def trail_lines(rows: Iterable[TrailRow], zone: ZoneInfo) -> list[TrailLine]:
    """Changes in words; times in `zone`."""
    listed = list(rows)
    versions, people = versions_of(listed), _people(listed)
    return [
        TrailLine(
            when=moment(row.at, zone),
            title=_(row.kind.words),
            tag=_how(row),
            about=row.about or "",
            url=_url(row),
            who=_who(row, people),
            changes=tuple(_changes(row, versions)),
            reason=row.reason or "",
        )
        for row in listed
    ]


def trail_table(rows: Iterable[TrailRow], zone: ZoneInfo) -> Iterator[tuple[str, ...]]:
    """The same as lines of a file; instants as ISO 8601 in `zone`."""
    listed = list(rows)
    for row, line in zip(listed, trail_lines(listed, zone), strict=True):
        at = row.at.astimezone(zone).isoformat(timespec="seconds")
        yield (at, line.who, line.title, line.tag, line.about, "; ".join(line.changes), line.reason)


def _people(rows: Iterable[TrailRow]) -> dict[int, User]:
    return User.objects.in_bulk({row.person for row in rows if row.person is not None})


def _who(row: TrailRow, people: Mapping[int, User]) -> str:
    if row.person is None:
        return "" if row.kind.by == "" else _("by the program itself")
    return str(people.get(row.person, ""))


def _how(row: TrailRow) -> str:
    return {"+": _("Added"), "~": _("Changed"), "-": _("Removed")}.get(row.how, "")


def _url(row: TrailRow) -> str:
    if not row.kind.route:
        return ""
    if not row.kind.of:
        return reverse(row.kind.route)
    return reverse(row.kind.route, args=[row.link]) if row.link else ""


def _changes(row: TrailRow, versions: Mapping[tuple[str, int], Versions]) -> Iterator[str]:
    found = versions.get((row.kind_key, row.version)) if row.version is not None else None
    if found is None or found.before is None or row.how != "~":
        return
    for field in type(found.now).tracked_fields:
        before, now = (getattr(one, field.attname) for one in (found.before, found.now))
        if before != now and field.name not in UNTOLD:
            yield _change(field, found)


def _change(field: Any, found: Versions) -> str:
    label = str(field.verbose_name)
    label = label[:1].upper() + label[1:]
    if field.is_relation or isinstance(field, models.JSONField):
        return _("{label}: another").format(label=label)
    said = {"before": _said(found.before, field), "after": _said(found.now, field)}
    return _("{label}: {before} → {after}").format(label=label, **said)


def _said(row: Any, field: Any) -> str:
    value = getattr(row, field.attname)
    if value is None or value == "":
        return _("nothing")
    if field.choices:
        return str(getattr(row, f"get_{field.name}_display")())
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, datetime):
        return moment(value)
    if isinstance(value, date):
        return day(value)
    if isinstance(value, float | Decimal):
        return marked(f"{value:g}" if isinstance(value, float) else f"{shortened(value):f}")
    text = str(value)
    return text if len(text) <= LONGEST else f"{text[:LONGEST]}…"
