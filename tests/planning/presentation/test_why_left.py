"""Why work was left out is told by method, hours, days and season, and never without its price."""

from dataclasses import replace
from datetime import date
from uuid import uuid4

import pytest

from planning.calc.plan_payload import LeftOut
from planning.calc.routing.reasons import Why
from planning.presentation.why_left import hours, why_left

LEFT = LeftOut(
    "advice 1",
    "Clean: vacuum sweeping",
    uuid4(),
    "Yard",
    Why.TAKEN,
    240,
    900.0,
    12.5,
    "vacuum",
    date(2026, 11, 2),
    date(2026, 11, 27),
    130,
    0,
    date(2026, 11, 30),
    "frost",
)


def words(**changes):
    return why_left(replace(LEFT, **changes), "EUR").replace("\u00a0", " ")


def test_taken_days_name_the_method_the_hours_the_days_the_season_and_the_longest_time_free():
    assert words() == (
        "No crew equipped for vacuum sweeping has 4 h 00 min free between 2 Nov 2026 and 27 Nov 2026, with frost after "
        "30 Nov 2026; the longest time free is 2 h 10 min. Work that is worth more has the days. "
        "Waiting with it costs 900 EUR."
    )


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"last_on": date(2026, 11, 2)}, "free on 2 Nov 2026, with frost after"),
        ({"season_ends": date(2027, 6, 1)}, "between 2 Nov 2026 and 27 Nov 2026; the longest"),
        ({"season_ends": None, "longest_min": 0}, "between 2 Nov 2026 and 27 Nov 2026. Work"),
        ({"method": ""}, "No crew that can do it has 4 h 00 min free"),
        ({"whole_days": 3}, "has 3 days in a row of 4 h 00 min each free"),
        ({"why": Why.NO_CREW}, "No crew is equipped for vacuum sweeping."),
        ({"why": Why.NO_CREW, "method": ""}, "No crew can do it."),
        (
            {"why": Why.CREW_AWAY, "first_on": None, "last_on": None},
            "No crew equipped for vacuum sweeping works on a day open to it, with frost after 30 Nov 2026",
        ),
        (
            {"why": Why.DAYS_IN_A_ROW, "whole_days": 4},
            "has 4 working days in a row of 4 h 00 min each between",
        ),
        (
            {"why": Why.TOO_LONG, "longest_min": 60},
            "its 4 h 00 min fit with the drive and the hours of the site; the",
        ),
        ({"why": Why.DRIVE}, "It would add 12.50 EUR; waiting costs 900 EUR."),
        ({"why": Why.DRIVE, "drive_cost": None}, "Waiting with it costs 900 EUR."),
        ({"why": Why.NOT_EQUIPPED}, "a crew that is not equipped for it"),
        ({"why": Why.OVERFULL}, "too full for its 4 h 00 min"),
        ({"why": Why.CLOSED}, "the surface is closed after its cleaning"),
        ({"why": Why.AROUND}, "on its side of the cleaning with the surface open to people again"),
    ],
)
def test_each_reason_is_concrete(changes, said):
    assert said in words(**changes)


@pytest.mark.parametrize("why", list(Why))
def test_every_reason_has_words(why):
    assert words(why=why).endswith(".")
    assert "None" not in words(why=why, first_on=None, last_on=None, season_ends=None, drive_cost=None)


def test_minutes_are_told_as_hours():
    assert [hours(minutes) for minutes in (0, 59, 60, 125)] == ["0 min", "59 min", "1 h 00 min", "2 h 05 min"]
