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
