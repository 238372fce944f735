import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnusableRecordError
from qa.calc import decay


@given(start=st.floats(100, 1e4), share=st.floats(0.05, 0.95), years=st.floats(0.5, 30))
def test_the_limit_is_reached_when_the_rate_says_so(start, share, years):
    k = decay.decay_constant_per_year(share, years)
    limit = start / 3

    assert decay.rate_after(start, k, decay.years_until(start, limit, k)) == pytest.approx(limit)
    assert decay.rate_after(start, k, decay.half_life_years(k)) == pytest.approx(start / 2)


def test_a_surface_already_below_its_limit_has_no_time_left():
    assert decay.years_until(200, 250, 0.2) == 0


def test_a_surface_at_its_limit_has_no_time_left_and_one_at_twice_it_a_half_life():
    assert decay.years_until(250, 250, 0.2) == 0
    assert decay.years_until(500, 250, 0.2) == pytest.approx(decay.half_life_years(0.2))
    assert decay.rate_after(500, 0.2, 0) == 500


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: decay.decay_constant_per_year(0, 10), "The share left must be between 0 and 1, got 0"),
        (lambda: decay.decay_constant_per_year(1, 10), "The share left must be between 0 and 1, got 1"),
        (lambda: decay.years_until(0, 250, 0.2), "Start rate must be more than 0 mm/h"),
        (lambda: decay.years_until(500, 0, 0.2), "Limit must be more than 0 mm/h"),
        (lambda: decay.years_until(500, 250, 0), "Decline must be more than 0"),
        (lambda: decay.decay_constant_per_year(18, 10), "The share left must be between 0 and 1, got 18"),
        (lambda: decay.decay_constant_per_year(0.18, 0), "Time must be more than 0 years"),
        (lambda: decay.half_life_years(0), "Decline must be more than 0"),
        (lambda: decay.rate_after(1, 1, -1), "Time must be 0 years or more, got -1"),
        (lambda: decay.gain_percent(0, 1), "Rate before must be more than 0"),
        (lambda: decay.gain_percent(1, float("nan")), "The rate after must be a number"),
    ],
)
def test_impossible_input_is_refused(call, message):
    with pytest.raises(UnusableRecordError, match=message):
        call()
