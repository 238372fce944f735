"""An appointment of a calendar feed, as plain data."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from planning.calc.routing.problem import DAY_MIN


@dataclass(frozen=True, slots=True)
class FeedEvent:
    """A visit at one site. begins, ends: with the zone of the site; revision, changed_at: rise with every change.

    place: latitude and longitude in degrees, None where they are not recorded
    """

    uid: str
    title: str
    begins: datetime
    ends: datetime
    where: str
    place: tuple[float, float] | None
    work: tuple[str, ...]
    url: str
    revision: int
    changed_at: datetime
    is_cancelled: bool


def instant(day: date, minutes: int, time_zone: str) -> datetime:
    """A time of a day by the clocks of a zone. minutes: from midnight, up to the next."""
    zone = ZoneInfo(time_zone)
    if minutes >= DAY_MIN:
        day, minutes = day + timedelta(days=1), minutes - DAY_MIN
    hour, minute = divmod(minutes, 60)
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone)
