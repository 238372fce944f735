"""What a surface's state is called: by the same chances everywhere, and a worse outlook never stands better."""

from dataclasses import replace
from datetime import date, timedelta
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.calc.actions import SurfaceStatus, state_of
from maintenance.calc.vocabulary import SurfaceState

TODAY = date(2026, 6, 1)
DAY = timedelta(days=1)
MILDEST_FIRST = (
    SurfaceState.DRAINING,
    SurfaceState.WATCH,
    SurfaceState.CLEAN_SOON,
    SurfaceState.BELOW_LIMIT,
)


def status(chance, days_to_10=None, days_to_50=None):
    def on(days):
        return None if days is None else TODAY + days * DAY

    return SurfaceStatus(
        today=TODAY,
        opened_on=date(2020, 1, 1),
        limit_mm_h=250.0,
        rate_now_mm_h=500.0,
        share_below_now=chance,
        below_10_on=on(days_to_10),
        below_50_on=on(days_to_50),
        last_tested_on=date(2026, 1, 1),
        last_cleaned_on=None,
    )


def days_until(level, chance, rise):
    if chance >= level:
        return 0
    return ceil((level - chance) / rise) if rise > 0.0 else None


def outlook(chance, rise):
    """A chance that rises by so much a day."""
    return status(chance, days_until(0.1, chance, rise), days_until(0.5, chance, rise))


chances = st.floats(0.0, 1.0)
rises = st.sampled_from([0.0, 0.0002, 0.0005, 0.001, 0.002, 0.01])


@given(chances, chances, rises, rises)
def test_a_higher_chance_now_and_later_never_stands_milder(one, other, slow, fast):
    mild = outlook(min(one, other), min(slow, fast))
    bad = outlook(max(one, other), max(slow, fast))

    assert MILDEST_FIRST.index(state_of(mild)) <= MILDEST_FIRST.index(state_of(bad))


@pytest.mark.parametrize(
    ("chance", "days_to_10", "days_to_50", "state"),
    [
        (0.02, None, None, SurfaceState.DRAINING),
        (0.02, 366, None, SurfaceState.DRAINING),
        (0.02, 365, None, SurfaceState.WATCH),
        (0.02, 100, 183, SurfaceState.WATCH),
        (0.02, 100, 182, SurfaceState.CLEAN_SOON),
        (0.0999, 0, None, SurfaceState.WATCH),
        (0.10, 0, None, SurfaceState.CLEAN_SOON),
        (0.31, 0, 900, SurfaceState.CLEAN_SOON),
        (0.50, 0, 0, SurfaceState.BELOW_LIMIT),
    ],
)
def test_each_state_begins_at_its_chance(chance, days_to_10, days_to_50, state):
    assert state_of(status(chance, days_to_10, days_to_50)) is state


def test_without_a_test_nothing_else_is_said():
    assert state_of(replace(status(0.9), last_tested_on=None)) is SurfaceState.NOT_TESTED
