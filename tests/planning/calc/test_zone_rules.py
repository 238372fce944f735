"""Rules of time zones, held to what the zone itself says at any instant."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.calc.zone_rules import observances

START, END = datetime(2026, 1, 1, tzinfo=UTC), datetime(2028, 1, 1, tzinfo=UTC)
ZONES = ("Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kolkata", "Europe/Dublin")


def clock(month, day, hour):
    return datetime(2026, month, day, hour, tzinfo=UTC).replace(tzinfo=None)


RULES = {zone: observances(zone, START, END) for zone in ZONES}


@given(st.sampled_from(ZONES), st.integers(0, 729 * 24 * 60))
def test_the_last_change_before_an_instant_gives_the_offset_that_holds(zone, minutes):
    at = START + timedelta(minutes=minutes)

    passed = [rule for rule in RULES[zone] if (rule.onset - rule.before).replace(tzinfo=UTC) <= at]

    assert passed[-1].after == at.astimezone(ZoneInfo(zone)).utcoffset()


def test_the_clocks_of_berlin_change_at_the_hours_that_the_law_names():
    """At two on the last Sunday of March, at three on that of October (Directive 2000/84/EC: 01:00 UTC)."""
    _, spring, autumn, *_ = RULES["Europe/Berlin"]

    assert (spring.onset, spring.is_summer, spring.name) == (clock(3, 29, 2), True, "CEST")
    assert (autumn.onset, autumn.is_summer) == (clock(10, 25, 3), False)
    assert autumn.before - autumn.after == timedelta(hours=1)


@pytest.mark.parametrize("zone", ["Asia/Kolkata", "UTC"])
def test_a_zone_without_summer_time_has_one_rule(zone):
    (rule,) = observances(zone, START, END)

    assert rule.before == rule.after
    assert not rule.is_summer


CHANGES = [
    pytest.param(zone, (rule.onset - rule.before).replace(tzinfo=UTC), id=f"{zone} {rule.onset:%Y-%m-%d}")
    for zone in ("Europe/Berlin", "Australia/Lord_Howe")
    for rule in RULES[zone][1:]
]


@pytest.mark.parametrize("second", [-1, 0, 1, 30, 59, 60, 61, 119, 3599])
@pytest.mark.parametrize(("zone", "at"), CHANGES)
def test_an_end_seconds_from_a_change_is_reached_and_the_change_is_told_to_the_minute(zone, at, second):
    """The search by halves once stood still where the end was no whole minute behind the change."""
    last = at + timedelta(seconds=second)

    found = observances(zone, START, last)

    expected = [rule for rule in RULES[zone] if (rule.onset - rule.before).replace(tzinfo=UTC) <= last]
    assert list(found) == expected


@given(st.sampled_from(ZONES), st.integers(0, 500 * 86_400), st.integers(0, 200 * 86_400))
def test_rules_of_a_shorter_time_are_those_of_the_longer_one_in_it(zone, first, lasts):
    begins = START + timedelta(seconds=first)
    ends = begins + timedelta(seconds=lasts)

    held, *changes = observances(zone, begins, ends)

    whole_hour = begins.replace(minute=0, second=0)
    inside = [
        rule
        for rule in RULES[zone][1:]
        if whole_hour < (rule.onset - rule.before).replace(tzinfo=UTC) <= ends
    ]
    assert changes == inside
    assert held.after == whole_hour.astimezone(ZoneInfo(zone)).utcoffset()


def test_a_zone_that_leaves_summer_time_for_good_ends_with_what_holds_from_then_on():
    """Turkey kept its summer time from 2016 on: the change that was due in October did not come (tz database)."""
    found = observances("Europe/Istanbul", datetime(2016, 1, 1, tzinfo=UTC), datetime(2018, 1, 1, tzinfo=UTC))

    assert [rule.after for rule in found][-1] == timedelta(hours=3)
    assert max(rule.onset for rule in found) < datetime(2016, 12, 31, tzinfo=UTC).replace(tzinfo=None)


def test_a_day_that_a_place_leaves_out_is_a_change_of_a_day():
    """Samoa went from the day of 29 December 2011 to that of the 31st (tz database)."""
    found = observances("Pacific/Apia", datetime(2011, 12, 1, tzinfo=UTC), datetime(2012, 1, 15, tzinfo=UTC))

    skipped = found[-1]
    assert skipped.after - skipped.before == timedelta(days=1)
    assert skipped.onset == datetime(2011, 12, 30, tzinfo=UTC).replace(tzinfo=None)
