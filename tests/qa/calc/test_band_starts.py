"""Sieves that a band of one's own starts with, held by the series of preferred numbers that their standards draw on."""

from itertools import pairwise

import pytest

from qa.calc.band_starts import STARTS
from qa.calc.sieves import SIEVE_NAMES

# ISO 3 and ISO 565: the R 20 series, twenty steps to a factor of ten (from memory).
R_20 = (1.00, 1.12, 1.25, 1.40, 1.60, 1.80, 2.00, 2.24, 2.50, 2.80, 3.15, 3.55, 4.00, 4.50, 5.00, 5.60, 6.30, 7.10,
        8.00, 9.00)  # fmt: skip
# ASTM E11 and ISO 565, the R 40/3 series from 1 mm up: each opening is about the fourth root of 2 times the one before,
# as far as it is not rounded for the trade (from memory).
R_40_3 = (1.00, 1.18, 1.40, 1.70, 2.00, 2.36, 2.80, 3.35, 4.00, 4.75, 5.60, 6.70, 8.00, 9.50, 11.2, 13.2, 16.0, 19.0,
          22.4, 26.5, 31.5, 37.5, 45.0, 53.0, 63.0, 75.0)  # fmt: skip
FINE = (0.6, 0.3, 0.15, 0.075)


def test_the_series_are_those_of_preferred_numbers():
    assert all(number == pytest.approx(10 ** (i / 20), rel=0.013) for i, number in enumerate(R_20))
    assert all(number == pytest.approx(10 ** (3 * i / 40), rel=0.013) for i, number in enumerate(R_40_3))


@pytest.mark.parametrize("key", ["en13242-1", "en13242-2"])
def test_european_sieves_are_preferred_numbers(key):
    for opening in STARTS[key].sieves_mm:
        decade = 10.0 if opening >= 10 else 1.0 if opening >= 1 else 0.01
        assert round(opening / decade, 3) in R_20


def test_the_canadian_sieves_are_those_of_the_wire_cloth_standard():
    assert set(STARTS["canada"].sieves_mm) <= {*R_40_3, *FINE}


def test_the_basic_set_halves_from_sieve_to_sieve_and_set_1_lies_in_the_middle_of_each_step():
    first, second = (set(STARTS[key].sieves_mm) for key in ("en13242-1", "en13242-2"))
    basic = sorted(first & second)

    assert basic == [0.063, 1.0, 2.0, 4.0, 8.0, 16.0, 31.5, 63.0, 80.0]
    assert all(b / a == pytest.approx(2, rel=0.02) for a, b in pairwise(basic[1:-1]))
    for middle, (low, high) in zip(sorted(first - second), pairwise(basic[3:-1]), strict=True):
        assert middle == pytest.approx((low * high) ** 0.5, rel=0.02)
    assert sorted(second - first) == [6.3, 10.0, 12.5, 14.0, 20.0, 40.0]


@pytest.mark.parametrize("start", STARTS.values(), ids=STARTS)
def test_sieves_come_coarse_first_and_each_once(start):
    assert list(start.sieves_mm) == sorted(set(start.sieves_mm), reverse=True)


def test_us_sieves_are_all_that_have_a_us_name():
    assert set(STARTS["us"].sieves_mm) == set(SIEVE_NAMES)
