"""How many requests a token may send."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.calc.rate import QUOTA, WINDOW_S, Allowance, window_of


@given(st.integers(0, 10**10))
def test_every_second_lies_in_one_window_and_the_next_begins_after_what_is_left(at):
    number, left = window_of(at)

    assert 1 <= left <= WINDOW_S
    assert window_of(at + left) == (number + 1, WINDOW_S)
    assert window_of(at + left - 1)[0] == number


@pytest.mark.parametrize(
    ("used", "left", "spent"), [(1, QUOTA - 1, False), (QUOTA, 0, False), (QUOTA + 1, 0, True)]
)
def test_what_is_left_is_told_and_one_too_many_is_told_to_wait(used, left, spent):
    allowance = Allowance(used, 17)

    fields = allowance.headers()

    assert fields["RateLimit"] == f'"token";r={left};t=17'
    assert allowance.is_spent is spent
    assert fields.get("Retry-After") == ("17" if spent else None)
