"""What a stone's size is called: openings and names of ASTM E11 (coarse ones looked up, fine ones from memory)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.units import UnitSystem
from qa.calc.sieves import SIEVE_NAMES, sieve_text, stone_size_text

SI, US = UnitSystem.SI, UnitSystem.US


@pytest.mark.parametrize(
    ("size_mm", "si", "us"),
    [
        (9.5, "9.5 mm", "⅜ in"),
        (9.525, "9.53 mm", "⅜ in"),  # 3/8 in to the last digit is the 9.5 mm sieve
        (12.7, "12.7 mm", "½ in"),  # 1.6 % over 12.5
        (12.75, "12.8 mm", "½ in"),  # 2 % over, which is the line
        (12.8, "12.8 mm", "0.504 in"),  # 2.4 % over: a size of its own, 12.8 / 25.4
        (12.25, "12.2 mm", "½ in"),  # 2 % under
        (12.2, "12.2 mm", "0.48 in"),
        (4.75, "4.75 mm", "No. 4"),
        (2.4, "2.4 mm", "No. 8"),
        (75.0, "75 mm", "3 in"),
        (90.0, "90 mm", "3.54 in"),
        (20.0, "20 mm", "0.787 in"),
        (0.075, "0.075 mm", "No. 200"),
    ],
)
def test_a_stone_is_called_by_its_size_or_by_the_sieve_that_is_meant(size_mm, si, us):
    assert (stone_size_text(size_mm, SI), stone_size_text(size_mm, US)) == (si, us)


@pytest.mark.parametrize("opening", SIEVE_NAMES)
@given(off=st.floats(-0.019, 0.019))
def test_a_size_within_two_percent_of_a_sieve_is_called_by_it(opening, off):
    assert stone_size_text(opening * (1 + off), US) == SIEVE_NAMES[opening]


@pytest.mark.parametrize(
    ("sieve_mm", "si", "us"),
    [(25.0, "25 mm", "1 in"), (2.36, "2.36 mm", "No. 8"), (26.5, "26.5 mm", "26.5 mm")],
)
def test_a_sieve_is_called_by_its_us_name_in_the_us_alone_and_where_it_has_one(sieve_mm, si, us):
    assert (sieve_text(sieve_mm, SI), sieve_text(sieve_mm, US)) == (si, us)
