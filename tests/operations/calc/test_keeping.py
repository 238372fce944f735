"""Which backups are kept by age."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from operations.calc.keeping import kept

DAY = timedelta(days=1)
FIRST = date(2026, 1, 1)


def made_and_thinned(first, days):
    """What lies in the folder after as many nights, thinned after each."""
    there = set()
    for night in range(days):
        there = kept(there | {first + night * DAY})
    return there


def test_after_three_years_of_nights_a_week_a_month_and_a_year_can_be_gone_back():
    last = date(2028, 12, 30)
    there = made_and_thinned(FIRST, (last - FIRST).days + 1)

    assert {last - back * DAY for back in range(7)} <= there
    sundays = {date(2028, 12, 24), date(2028, 12, 17), date(2028, 12, 10)}
    assert sundays <= there
    ends_of_months = {date(2028, month + 1, 1) - DAY for month in range(1, 12)}
    assert ends_of_months <= there
    assert there == {last - back * DAY for back in range(7)} | sundays | ends_of_months


@given(st.sets(st.dates(date(2020, 1, 1), date(2030, 1, 1)), min_size=1, max_size=80))
def test_the_newest_always_stays_and_never_more_than_23_do(days):
    assert max(days) in kept(days) <= days
    assert len(kept(days)) <= 7 + 4 + 12
    assert kept(kept(days)) == kept(days)


def test_few_are_all_kept_however_old():
    old = {FIRST, FIRST + DAY, FIRST + 2 * DAY}

    assert kept(old) == old


def test_after_a_long_silence_what_was_made_before_stays():
    before = made_and_thinned(FIRST, 400)

    after = kept(before | {FIRST + 1000 * DAY})

    assert len(before - after) <= 3, "the oldest of each rule makes room"


def test_a_day_that_no_rule_wants_goes():
    """The control: it does thin out."""
    there = made_and_thinned(FIRST, 60)

    assert date(2026, 1, 15) not in there
