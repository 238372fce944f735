"""Which days a calendar shows, held to Python's own calendar."""

import calendar
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.calc.calendar_days import FIRST, LAST, View, span_of

DAYS = st.dates(min_value=date(1970, 2, 1), max_value=date(2199, 11, 30))


@given(DAYS)
def test_a_month_has_the_weeks_that_pythons_calendar_gives_it(on):
    weeks = calendar.Calendar().monthdatescalendar(on.year, on.month)

    assert span_of(View.MONTH, on).weeks == tuple(tuple(week) for week in weeks)


@given(DAYS, st.sampled_from(list(View)))
def test_the_day_asked_for_is_always_among_those_shown(on, view):
    span = span_of(view, on)

    assert span.first <= on <= span.last
    assert span.holds(on)


@given(DAYS, st.sampled_from([View.WEEK, View.DAY, View.LIST]))
def test_what_comes_after_begins_the_day_after_what_is_shown(on, view):
    span = span_of(view, on)
    after = span_of(view, span.after)

    assert after.first == span.last + timedelta(days=1)
    assert span_of(view, after.before).first == span.first


def test_after_the_last_of_january_comes_february_and_not_march():
    span = span_of(View.MONTH, date(2027, 1, 31))

    assert (span.before, span.after) == (date(2026, 12, 1), date(2027, 2, 1))
    assert not span.holds(date(2027, 2, 1))


@pytest.mark.parametrize(("asked", "given_"), [(date.min, FIRST), (date.max, LAST)])
@pytest.mark.parametrize("view", list(View))
def test_a_day_out_of_reach_counts_as_the_nearest_within(asked, given_, view):
    assert span_of(view, asked).on == given_


def test_a_list_is_of_four_weeks_and_a_week_begins_on_monday():
    assert len(span_of(View.LIST, date(2026, 6, 10)).days) == 28
    assert span_of(View.WEEK, date(2026, 6, 14)).first == date(2026, 6, 8)
