"""What day it is, is told by the site: a minute before and after its midnight, wherever on Earth it lies."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError

from maintenance.models import CleaningEvent
from maintenance.services.cleanings import record_cleaning
from qa.models import TestRound
from qa.services.rounds import record_round
from tests.factories import SiteFactory, SurfaceFactory, UserFactory

pytestmark = pytest.mark.django_db

# From ten hours behind to fourteen ahead, with half and quarter hours, and with summer time and without.
ZONES = [
    "Pacific/Honolulu",
    "America/Anchorage",
    "America/Los_Angeles",
    "America/St_Johns",
    "UTC",
    "Europe/Berlin",
    "Asia/Kathmandu",
    "Australia/Adelaide",
    "Pacific/Auckland",
    "Pacific/Chatham",
    "Pacific/Kiritimati",
]
DAYS = [date(2026, 1, 15), date(2026, 6, 10), date(2026, 12, 31), date(2028, 2, 29)]
MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)


def midnight_after(day, zone):
    """The instant at which the day ends there."""
    return datetime.combine(day + DAY, datetime.min.time(), tzinfo=ZoneInfo(zone)).astimezone(UTC)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("day", DAYS)
def test_a_sites_day_turns_at_its_own_midnight(zone, day):
    site, midnight = (
        SiteFactory.build(time_zone=zone, owner=None, organisation=None),
        midnight_after(day, zone),
    )

    assert site.today(midnight - MINUTE) == day
    assert site.today(midnight + MINUTE) == day + DAY


def record(kind, surface, day):
    if kind == "cleaning":
        event = CleaningEvent(surface=surface, cleaned_on=day, method="vacuum")
        return record_cleaning(event=event, by=UserFactory())
    return record_round(round_=TestRound(surface=surface, tested_on=day), by=UserFactory())


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("kind", ["cleaning", "round"])
def test_work_of_a_day_is_recorded_from_its_first_minute_there_and_not_before(time_machine, zone, kind):
    surface, day = SurfaceFactory(site=SiteFactory(time_zone=zone)), date(2026, 6, 11)
    midnight = midnight_after(day - DAY, zone)

    time_machine.move_to(midnight - MINUTE)
    with pytest.raises(ValidationError, match=r"11.*Jun.*2026 is in the future at the site"):
        record(kind, surface, day)
    time_machine.move_to(midnight + MINUTE)

    assert record(kind, surface, day).pk
