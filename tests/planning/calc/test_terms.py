from datetime import date

import pytest

from planning.calc.terms import notice_day, term_end

END = date(2026, 12, 31)


@pytest.mark.parametrize(
    ("until", "renews", "today", "end"),
    [
        (None, True, date(2026, 6, 1), None),
        (END, False, date(2027, 6, 1), END),
        (END, True, END, END),
        (END, True, date(2027, 1, 1), date(2027, 12, 31)),
        (END, True, date(2029, 6, 1), date(2029, 12, 31)),
        (date(2024, 2, 29), True, date(2025, 3, 1), date(2026, 2, 28)),
        (date(2024, 2, 29), True, date(2027, 3, 1), date(2028, 2, 29)),
    ],
)
def test_a_term_that_renews_goes_on_by_whole_years(until, renews, today, end):
    assert term_end(until, renews, today) == end


def test_notice_is_due_so_many_days_before_the_end():
    assert notice_day(END, 60) == date(2026, 11, 1)
