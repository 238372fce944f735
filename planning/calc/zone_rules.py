"""When the clocks of a time zone change, as a calendar file has to say it (RFC 5545, 3.6.5)."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

STEP = timedelta(days=1)  # no zone changes its clocks twice within a day
TO_THE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Observance:
    """From when on which offset from UTC holds. onset: by the clocks as they were until then, without a zone."""

    onset: datetime
    before: timedelta
    after: timedelta
    name: str
    is_summer: bool


def observances(zone: str, first: datetime, last: datetime) -> tuple[Observance, ...]:
    """What holds at `first`, then every change up to `last`; both with a zone."""
    key = ZoneInfo(zone)
    start = first.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    held = _offset(start, key)
    found = [_observance(start, held, key)]
    for at in _changes(key, start, last.astimezone(UTC)):
        found.append(_observance(at, held, key))
        held = _offset(at, key)
    return tuple(found)


def _changes(key: ZoneInfo, start: datetime, end: datetime) -> Iterator[datetime]:
    while start < end:
        later = min(start + STEP, end)
        if _offset(start, key) != _offset(later, key):
            yield _found(key, start, later)
        start = later


def _found(key: ZoneInfo, low: datetime, high: datetime) -> datetime:
    """The minute between two instants in which the offset changes, by halves."""
    held = _offset(low, key)
    while high - low > TO_THE:
        middle = low + max(1, (high - low) // 2 // TO_THE) * TO_THE
        low, high = (middle, high) if _offset(middle, key) == held else (low, middle)
    return high


def _offset(at: datetime, key: ZoneInfo) -> timedelta:
    return at.astimezone(key).utcoffset() or timedelta(0)


def _observance(at: datetime, before: timedelta, key: ZoneInfo) -> Observance:
    local = at.astimezone(key)
    return Observance(
        onset=at.replace(tzinfo=None) + before,
        before=before,
        after=_offset(at, key),
        name=local.tzname() or key.key,
        is_summer=bool(local.dst()),
    )
