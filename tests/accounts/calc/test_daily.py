"""When a daily mail is due, by clocks that are put forward and back."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from accounts.calc.daily import last_due

BERLIN = ZoneInfo(
    "Europe/Berlin"
)  # UTC+1, UTC+2 from 29 March to 25 October 2026: the IANA time zone database


def due(at, hour=7, zone=BERLIN):
    on, instant = last_due(at, hour, zone)
    return on, instant.astimezone(UTC)


@pytest.mark.parametrize(
    ("day", "hour_utc"),
    [
        (date(2026, 3, 28), 6),
        (date(2026, 3, 29), 5),  # put forward at 02:00
        (date(2026, 10, 24), 5),
        (date(2026, 10, 25), 6),  # put back at 03:00
    ],
)
def test_seven_is_seven_by_the_clocks_on_the_wall(day, hour_utc):
    expected = datetime(day.year, day.month, day.day, hour_utc, tzinfo=UTC)

    assert due(expected) == (day, expected)
    assert due(expected - timedelta(seconds=1))[0] == day - timedelta(days=1)


def test_an_hour_that_is_skipped_comes_an_hour_later_and_once():
    skipped = datetime(2026, 3, 29, 1, 0, tzinfo=UTC)  # 02:00 by the winter's clock is 03:00 by the summer's

    assert due(skipped, hour=2) == (date(2026, 3, 29), skipped)
    assert due(skipped - timedelta(minutes=1), hour=2)[0] == date(2026, 3, 28)


def test_an_hour_that_comes_twice_is_due_at_the_first():
    first = datetime(2026, 10, 25, 0, 0, tzinfo=UTC)  # 02:00 the first time, again at 01:00 UTC

    assert due(first, hour=2) == due(first + timedelta(hours=1), hour=2) == (date(2026, 10, 25), first)


def test_two_days_across_the_change_have_one_mail_each():
    start = datetime(2026, 10, 24, 6, 0, tzinfo=UTC)
    found = [due(start + timedelta(minutes=10 * step)) for step in range(6 * 48)]

    assert len(set(found)) == 2
    assert found == sorted(found)


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago", "Asia/Kathmandu", "UTC"])
def test_what_was_due_last_is_never_ahead_and_never_older_than_a_long_day(zone):
    start = datetime(2026, 6, 1, tzinfo=UTC)
    for step in range(48):
        at = start + timedelta(minutes=30 * step)
        assert timedelta() <= at - due(at, 0, ZoneInfo(zone))[1] < timedelta(hours=25)
