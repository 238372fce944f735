import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.months import Months
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
