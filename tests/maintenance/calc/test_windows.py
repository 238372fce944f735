"""Workable days."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.calc import windows
from maintenance.calc.windows import LATEST_SHIFT_DAYS, Climate, cleaning_window

MONTHS = st.sets(st.integers(1, 12))
DAYS = st.dates(date(2020, 1, 1), date(2040, 12, 31))
CLIMATES = st.builds(Climate, MONTHS, MONTHS, st.booleans(), st.booleans())
NORTH = Climate(frost_months=(12, 1, 2), leaf_fall_months=(10, 11), trees=True)


def workable(day, climate):
    return not climate.reason_against(day)


@given(due=DAYS, today=DAYS, climate=CLIMATES)
def test_no_window_begins_in_the_past_or_ends_before_it_begins(due, today, climate):
    window = cleaning_window(due, today, climate)

    assert window.earliest >= today
    assert window.due == due or window.due >= window.earliest


@given(due=DAYS, today=DAYS, climate=CLIMATES)
def test_only_a_due_day_that_has_passed_stays_in_the_past(due, today, climate):
    window = cleaning_window(due, today, climate)

    assert window.due >= today or window.due == due


@given(due=DAYS, today=DAYS, climate=CLIMATES)
def test_the_work_begins_on_a_workable_day_or_the_window_says_there_is_none(due, today, climate):
    window = cleaning_window(due, today, climate)

    assert workable(window.earliest, climate) or "no workable day" in window.reason


@given(due=DAYS, today=DAYS, climate=CLIMATES)
def test_a_moved_day_is_workable_near_and_says_why(due, today, climate):
    window = cleaning_window(due, today, climate)
    wanted = max(due, today)

    if window.due != due and "no workable day" not in window.reason:
        assert workable(window.due, climate)
        ahead = (today + timedelta(days=n) for n in range(max(0, (wanted - today).days) + 1))
        near = (window.due - wanted).days <= LATEST_SHIFT_DAYS + 21
        assert near or not any(workable(day, climate) for day in ahead), "it could have been brought forward"
        assert wanted.isoformat() in window.reason


@given(due=DAYS, today=DAYS)
def test_a_place_without_frost_or_trees_keeps_every_day(due, today):
    window = cleaning_window(due, today, Climate(leaf_fall_months=(10, 11)))

    assert (window.earliest, window.due, window.reason) == (today, due, "")


def test_leaf_fall_and_winter_are_waited_out():
    window = cleaning_window(date(2026, 10, 20), date(2026, 6, 1), NORTH)

    assert (window.earliest, window.due) == (date(2026, 6, 1), date(2026, 9, 30))
    assert "brought forward" in window.reason


def test_a_short_wait_is_moved_on():
    window = cleaning_window(date(2027, 1, 10), date(2026, 6, 1), NORTH)

    assert (window.earliest, window.due) == (date(2027, 3, 1), date(2027, 3, 22))
    assert window.reason == "The day was moved to {day:2027-03-01}: {hindrance:frost/0} on {day:2027-01-10}."


def test_grit_is_named_where_it_is_spread():
    climate = Climate(frost_months=(1,), winter_grit=True)

    assert "grit still to come" in cleaning_window(date(2027, 1, 10), date(2026, 6, 1), climate).reason


def test_work_that_is_late_keeps_its_day_and_starts_on_the_next_workable_one():
    window = cleaning_window(date(2026, 5, 1), date(2026, 6, 1), NORTH)

    assert (window.earliest, window.due) == (date(2026, 6, 1), date(2026, 5, 1))


def test_work_brought_forward_does_not_begin_in_frost():
    """Today is frozen, the due day lies in leaf fall before another winter: the weeks between are what is left."""
    climate = Climate(frost_months=(1, 2, 12, 11), leaf_fall_months=(9, 10), trees=True)

    window = cleaning_window(date(2027, 9, 10), date(2027, 2, 10), climate)

    assert (window.earliest, window.due) == (date(2027, 3, 1), date(2027, 8, 31))


def test_a_place_with_frost_all_year_is_told_to_check_its_months():
    window = cleaning_window(date(2027, 9, 10), date(2027, 2, 10), Climate(frost_months=range(1, 13)))

    assert "check the site's months" in window.reason


@pytest.mark.parametrize("days", [0, 30])
def test_a_test_waits_for_thaw_but_not_for_leaves(days):
    today = date(2026, 10, 5)

    window = windows.testing_window(today + timedelta(days), today, NORTH)

    assert (window.due, window.reason) == (today + timedelta(days), "")


# From 1 November to 1 March are 30 + 31 + 31 + 28 = 120 days, and one more where February has 29.
FOUR_MONTHS = Climate(frost_months=(11, 12, 1, 2))


@pytest.mark.parametrize(
    ("due", "moved_to", "said"),
    [
        (date(2026, 11, 1), date(2027, 3, 22), "The day was moved to {day:2027-03-01}"),
        (date(2027, 11, 1), date(2027, 10, 31), "The day was brought forward to {day:2027-10-31}"),
        (date(2027, 11, 2), date(2028, 3, 22), "The day was moved to {day:2028-03-01}"),
    ],
)
def test_a_wait_of_120_days_is_borne_and_one_of_121_is_not(due, moved_to, said):
    window = cleaning_window(due, date(2026, 6, 1), FOUR_MONTHS)

    assert window.due == moved_to
    assert window.reason.startswith(said)


@pytest.mark.parametrize(
    ("today", "said"),
    [
        (date(2027, 10, 31), "The day was brought forward to {day:2027-10-31}"),
        (
            date(2027, 11, 1),
            "The day was moved to {day:2028-03-01}",
        ),  # too late for that: it waits, however long
    ],
)
def test_work_is_brought_forward_to_today_at_the_earliest(today, said):
    assert cleaning_window(date(2027, 11, 1), today, FOUR_MONTHS).reason.startswith(said)


@pytest.mark.parametrize(
    ("day", "climate", "why"),
    [
        (date(2026, 10, 5), Climate(leaf_fall_months=(10,), trees=True), "leaves still falling"),
        (date(2026, 10, 5), Climate(leaf_fall_months=(10,)), ""),
        (date(2026, 9, 30), Climate(leaf_fall_months=(10,), trees=True), ""),
        (date(2026, 10, 5), Climate(frost_months=(10,), leaf_fall_months=(10,), trees=True), "frost"),
        (date(2026, 1, 5), Climate(frost_months=(1,), winter_grit=True), "frost, and grit still to come"),
        (date(2026, 2, 1), Climate(frost_months=(1,), winter_grit=True), ""),
    ],
)
def test_a_day_is_lost_to_frost_first_and_to_leaves_where_trees_stand(day, climate, why):
    assert climate.reason_against(day) == why
