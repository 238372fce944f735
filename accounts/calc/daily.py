"""When somebody's daily mail goes out."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def last_due(at: datetime, hour: int, zone: ZoneInfo) -> tuple[date, datetime]:
    """The day and the instant at which a daily mail was due last, at an instant. hour: by the clocks of the zone.

    An hour that the clocks skip comes as many minutes later; of one that they repeat it is the first (PEP 495).
    """
    today = at.astimezone(zone).date()
    for day in (today, today - timedelta(days=1)):
        due = datetime.combine(day, time(hour), zone)
        if due.timestamp() <= at.timestamp():
            return day, due
    raise AssertionError("The hour of yesterday lies before now.")  # days are 25 hours long at most
