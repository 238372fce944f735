"""Which report month is due, what a due report covers, and how construction checks are told to an inspector."""

from collections import Counter
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.calc.check_progress import CheckStatus
from reporting.calc.inspecting import construction_words
from reporting.calc.sharing import MOST_DAYS, Terms, last_day_at_most, latest_due_month, report_since

LONG_AGO = date(2020, 1, 1)
DAYS = st.dates(date(2021, 1, 1), date(2030, 12, 31))


def due(months, today, since=LONG_AGO, until=None):
    return latest_due_month(Terms(months, since, until), today)


@pytest.mark.parametrize(
    ("months", "today", "month"),
    [
        ((3, 9), date(2026, 3, 1), date(2026, 3, 1)),
        ((3, 9), date(2026, 2, 28), date(2025, 9, 1)),
        ((3, 9), date(2026, 8, 31), date(2026, 3, 1)),
        ((1,), date(2026, 12, 31), date(2026, 1, 1)),
        ((12,), date(2026, 1, 1), date(2025, 12, 1)),
        ((), date(2026, 3, 1), None),
    ],
)
def test_the_latest_month_that_has_begun_is_due(months, today, month):
    assert due(months, today) == month


def test_nothing_is_due_before_the_agreement_or_after_its_end():
    assert due((3,), date(2026, 3, 5), since=date(2026, 3, 2)) is None
    assert due((3,), date(2026, 3, 5), since=date(2026, 3, 1)) == date(2026, 3, 1)
    assert due((3,), date(2026, 3, 5), until=date(2026, 2, 28)) is None
    assert due((3,), date(2026, 3, 5), until=date(2026, 3, 1)) == date(2026, 3, 1)


@given(months=st.sets(st.integers(1, 12), min_size=1), today=DAYS)
def test_what_is_due_has_begun_within_a_year_and_no_later_month_was_asked_for(months, today):
    month = due(months, today)

    assert month is not None
    assert month <= today
    assert (today - month) < timedelta(days=366)
    between = {
        (month + timedelta(days=32 * n)).month
        for n in range(1, 13)
        if month + timedelta(days=32 * n) <= today
    }
    assert month.month in months
    assert not between & (months - {month.month, today.month})


def test_a_report_covers_what_came_since_the_last_one_or_its_share_of_a_year():
    today = date(2026, 3, 2)

    assert report_since(date(2025, 9, 3), (3, 9), today) == date(2025, 9, 3)
    assert report_since(None, (3, 9), today) == date(2025, 9, 2)
    assert report_since(None, (1, 4, 7, 10), today) == date(2025, 12, 2)
    assert report_since(None, range(1, 13), today) == date(2026, 2, 2)
    assert report_since(None, (), today) == date(2025, 3, 2)


def test_a_last_report_of_tomorrow_by_another_clock_does_not_turn_the_period_round():
    assert report_since(date(2026, 3, 3), (3, 9), date(2026, 3, 2)) == date(2025, 9, 2)


def test_a_link_opens_for_two_years_at_most():
    assert last_day_at_most(date(2026, 1, 1)) - date(2026, 1, 1) == timedelta(days=MOST_DAYS)


def test_construction_is_told_by_what_is_settled_waived_and_failed():
    counts = Counter(
        {CheckStatus.PASSED: 3, CheckStatus.WAIVED: 1, CheckStatus.FAILED: 2, CheckStatus.OPEN: 1}
    )

    words = construction_words(counts, date(2026, 5, 1), "1 May 2026")

    assert words == (
        "4 of 7 construction checks are settled, 1 of them waived; 2 failed and not corrected yet. "
        "The handover record was kept on 1 May 2026."
    )
    assert construction_words(None, None, "") == "No construction record was kept."
