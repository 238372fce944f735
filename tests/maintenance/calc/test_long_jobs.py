"""A job of many days is begun where all of its days can be worked: held to a plain look at each day."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.calc.paving import CleaningMethod
from maintenance.calc.windows import Climate, cleaning_window, cold_months, job_days, season_end, workable_on

ONE_DAY = timedelta(days=1)
DAYS = st.dates(date(2023, 12, 1), date(2026, 3, 31))  # over a leap day and two turns of the year
FROST = st.sets(st.integers(1, 12), max_size=5)
HOURS = st.floats(0.0, 400.0)
METHODS = st.sampled_from([CleaningMethod.VACUUM, CleaningMethod.REJOINT_RESIN])
SEASON_DAYS = 28  # of each open month, as a job that outlasts its season is done in parts


def lost(day, climate, method):
    """Whether a day cannot be worked, by the words of the climate and of resin beside the frost."""
    frozen = day.month in climate.frost_months
    leaves = climate.trees and day.month in climate.leaf_fall_months
    beside = {(day - timedelta(days=day.day)).month, (day.replace(day=28) + 4 * ONE_DAY).month}
    cold = method is CleaningMethod.REJOINT_RESIN and bool(beside & set(climate.frost_months))
    return frozen or leaves or cold


def longest_season(climate, method):
    """Days of the longest run of months that can be worked."""
    open_months = [not lost(date(2025, month, 15), climate, method) for month in range(1, 13)] * 2
    runs = "".join("x" if is_open else " " for is_open in open_months).split()
    return max(1, SEASON_DAYS * min(12, max(map(len, runs), default=0)))


def days_of_work(begun, climate, method, hours):
    days = min(job_days(hours), longest_season(climate, method))
    return [begun + n * ONE_DAY for n in range(days)]


def climates(frost):
    return Climate(frost_months=frost, leaf_fall_months=(10, 11), trees=True)


@settings(max_examples=200)
@given(DAYS, FROST, METHODS, HOURS)
def test_a_job_may_be_begun_where_every_day_of_it_can_be_worked(begun, frost, method, hours):
    climate = climates(frost)

    plain = not any(lost(day, climate, method) for day in days_of_work(begun, climate, method, hours))

    assert workable_on(begun, climate, method, hours) == plain


@given(DAYS, DAYS, FROST, METHODS, HOURS)
def test_a_moved_job_is_worked_through_or_the_window_says_that_there_is_no_day(
    due, today, frost, method, hours
):
    climate = climates(frost)

    window = cleaning_window(due, today, climate, hours, method)

    if "no workable day" not in window.reason:
        work = days_of_work(window.earliest, climate, method, hours)
        assert not any(lost(day, climate, method) for day in work)


@pytest.mark.parametrize(
    ("begun", "may"),
    [
        (date(2026, 1, 10), False),  # to 28 February, all of it frozen
        (date(2025, 12, 1), True),  # to 19 January
        (date(2025, 12, 13), True),  # to 31 January
        (date(2025, 12, 14), False),  # to 1 February
        (date(2026, 3, 1), True),
    ],
)
def test_a_month_of_frost_in_the_middle_of_a_job_is_not_jumped_over(begun, may):
    """36 days of work, with their weekends 50, where February alone is frozen."""
    climate = Climate(frost_months=(2,))
    assert job_days(288.0) == 50

    assert workable_on(begun, climate, CleaningMethod.VACUUM, 288.0) is may


def test_a_job_that_outlasts_a_month_of_frost_from_both_sides_is_moved_past_it():
    """Begun on 20 January it would end on 10 March: neither of the two is frozen, but all of February is."""
    window = cleaning_window(date(2026, 1, 20), date(2026, 1, 20), Climate(frost_months=(2,)), 288.0)

    assert window.earliest == date(2026, 3, 1)
    assert window.reason.startswith("The day was moved to {day:2026-03-01}: {hindrance:frost/50}")


@pytest.mark.parametrize(("begun", "may"), [(date(2026, 10, 12), True), (date(2026, 10, 22), False)])
def test_resin_is_not_begun_where_it_would_end_beside_the_frost(begun, may):
    """14 days of work and their weekends, 18, with frost from December: November is too cold for it."""
    climate = Climate(frost_months=(12, 1, 2))
    assert job_days(112.0) == 18

    assert workable_on(begun, climate, CleaningMethod.REJOINT_RESIN, 112.0) is may
    assert workable_on(begun, climate, CleaningMethod.VACUUM, 112.0)


@given(FROST)
def test_months_too_cold_for_resin_are_the_frozen_ones_and_their_neighbours(frost):
    found = cold_months(CleaningMethod.REJOINT_RESIN, frost)

    around_the_year = {month % 12 or 12 for f in frost for month in (f - 1, f, f + 1)}
    assert found == around_the_year
    assert cold_months(CleaningMethod.VACUUM, frost) == frozenset()


@pytest.mark.parametrize(
    ("hours", "days"),
    [(0.0, 1), (8.0, 1), (8.1, 2), (40.0, 5), (40.1, 8), (80.0, 12), (81.0, 15)],
)
def test_a_job_counts_its_weekends_once_it_lasts_longer_than_a_week(hours, days):
    """Eight hours a day, five days a week, begun on the first day of a week: five days end on a Friday."""
    assert job_days(hours) == days


@given(HOURS, HOURS)
def test_more_hours_never_take_fewer_days(hours, more):
    assert job_days(hours + more) >= job_days(hours)


@given(DAYS, FROST, METHODS)
def test_a_season_ends_on_the_day_before_the_first_lost_one(day, frost, method):
    climate = climates(frost)

    found = season_end(day, climate, method)

    last, _ = found  # leaves fall each autumn, so that every season ends
    assert lost(last + ONE_DAY, climate, method)
    assert not any(lost(day + n * ONE_DAY, climate, method) for n in range((last - day).days + 1))


def test_a_season_that_nothing_ends_has_no_end():
    assert season_end(date(2026, 5, 1), Climate(), CleaningMethod.VACUUM) is None
