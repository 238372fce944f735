"""What an agreement asked for in a period, and what was done of it."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reporting.calc.agreed import DoneAt, Term, agreed_count, asked_between
from reporting.calc.report_parts import AgreedCount

FIRST = date(2021, 11, 26)


@pytest.mark.parametrize(
    ("per_year", "after", "until", "asked"),
    [
        (1.0, date(2025, 11, 26), date(2026, 11, 26), 1),
        (2.0, date(2025, 11, 26), date(2026, 11, 26), 2),
        (0.5, date(2025, 11, 26), date(2026, 11, 26), 0),
        (0.5, date(2024, 11, 26), date(2025, 11, 26), 1),
        (0.33, date(2021, 11, 26), date(2026, 11, 26), 1),
        (12.0, date(2026, 1, 26), date(2026, 3, 26), 2),
        (1.0, date(2020, 1, 1), date(2022, 11, 25), 0),
        (0.0, date(2020, 1, 1), date(2030, 1, 1), 0),
    ],
)
def test_what_falls_due_is_counted_by_the_calendar(per_year, after, until, asked):
    assert asked_between(Term(per_year, FIRST), after, until) == asked


def test_nothing_falls_due_after_the_last_day_of_the_term():
    term = Term(1.0, FIRST, date(2023, 1, 1))

    assert asked_between(term, FIRST, date(2030, 1, 1)) == 1


@given(
    st.floats(0.1, 52.0),
    st.integers(0, 1500),
    st.integers(0, 1500),
    st.integers(0, 1500),
)
def test_reports_that_follow_each_other_leave_out_and_count_twice_nothing(per_year, first, second, third):
    term = Term(per_year, FIRST)
    a, b, c = (FIRST + timedelta(days=days) for days in sorted((first, second, third)))

    assert asked_between(term, a, b) + asked_between(term, b, c) == asked_between(term, a, c)
    assert asked_between(term, a, c) == pytest.approx(
        (c - a).days / 365.25 * per_year, abs=1.5 + per_year / 12
    )


def test_what_one_surface_has_more_makes_up_for_no_other():
    term = Term(1.0, FIRST)
    after, until = date(2025, 11, 26), date(2026, 11, 26)
    done = [
        DoneAt("Yard", term, [date(2026, 3, 1), date(2026, 9, 1), date(2020, 1, 1)]),
        DoneAt("Ramp", term, []),
        DoneAt("Court", term, [until]),
    ]

    assert agreed_count(done, after, until) == AgreedCount(asked=3, done=2, more=1, behind=("Ramp",))


def test_what_was_done_early_is_not_missing_from_the_next_report():
    """One a year from 1 June 2024, done on 20 May 2025: it fell due on 1 June, within the second report."""
    done = [DoneAt("Yard", Term(1.0, date(2024, 6, 1)), [date(2025, 5, 20)])]

    first = agreed_count(done, date(2024, 5, 25), date(2025, 5, 25))
    second = agreed_count(done, date(2025, 5, 25), date(2026, 5, 25))

    assert first == AgreedCount(asked=0, done=0, more=1, behind=())
    assert second == AgreedCount(asked=1, done=1, more=0, behind=())


def test_what_was_missing_before_is_not_asked_for_again_and_takes_nothing_of_what_is_done_now():
    done = [DoneAt("Yard", Term(1.0, date(2020, 6, 1)), [date(2025, 9, 1)])]

    assert agreed_count(done, date(2025, 5, 25), date(2026, 5, 25)) == AgreedCount(1, 1, 0, ())


def test_work_of_the_day_between_two_reports_is_in_the_first_alone():
    done = [DoneAt("Yard", Term(2.0, date(2024, 1, 1)), [date(2025, 1, 1)])]

    first = agreed_count(done, date(2024, 1, 1), date(2025, 1, 1))
    second = agreed_count(done, date(2025, 1, 1), date(2026, 1, 1))

    assert (first.done, second.done) == (1, 0)


@given(st.lists(st.integers(0, 2000), max_size=12), st.floats(0.2, 6.0), st.integers(1, 1900))
def test_done_and_more_are_never_beyond_what_was_done_and_done_never_beyond_what_was_asked(
    days, per_year, cut
):
    term, at = Term(per_year, FIRST), FIRST + timedelta(days=cut)
    done = [DoneAt("Yard", term, [FIRST + timedelta(days=day) for day in days])]

    found = agreed_count(done, at, at + timedelta(days=365))

    assert 0 <= found.done <= found.asked
    assert found.done + found.more <= len(days)
    assert (found.behind == ("Yard",)) == (found.done < found.asked)
