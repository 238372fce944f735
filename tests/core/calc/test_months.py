from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.months import Months, months_after
from core.errors import UnreadablePayloadError

MONTHS = st.lists(st.integers(1, 12), unique=True).map(lambda numbers: Months(tuple(numbers)))


@given(months=MONTHS)
def test_months_are_read_as_they_were_written(months):
    assert Months.from_json(months.to_json()) == months


@pytest.mark.parametrize("numbers", [(0,), (13,), (1, 1), (True, 2), ("1",)])
def test_months_are_numbers_from_1_to_12_each_once(numbers):
    with pytest.raises(ValueError, match="month numbers from 1 to 12, each once"):
        Months(numbers)


def test_months_that_cannot_be_are_not_read():
    with pytest.raises(UnreadablePayloadError, match="month numbers from 1 to 12"):
        Months.from_json({"schema": 1, "numbers": [13]})


def test_months_are_asked_like_a_collection():
    winter = Months((12, 1, 2))

    assert (1 in winter, 7 in winter, sorted(winter), len(winter)) == (True, False, [1, 2, 12], 3)


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2024, 5, 1), 6, date(2024, 11, 1)),
        (date(2024, 8, 31), 6, date(2025, 2, 28)),
        (date(2023, 8, 31), 6, date(2024, 2, 29)),
        (date(2024, 1, 15), 0, date(2024, 1, 15)),
        (date(2024, 12, 31), 24, date(2026, 12, 31)),
    ],
)
def test_months_on_it_is_the_same_day_or_the_last_of_a_shorter_month(day, months, later):
    assert months_after(day, months) == later
