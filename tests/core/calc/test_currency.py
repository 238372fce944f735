"""Money to the smallest unit of its currency, halves away from zero."""

from decimal import Decimal
from fractions import Fraction

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from core.calc.currency import CURRENCIES, MINOR_UNITS, MOST_MINOR_UNITS, minor_units, rounded
from core.calc.format import price
from core.models.currencies import currency_known

AMOUNTS = st.decimals(min_value=-(10**9), max_value=10**9, places=6)
CODES = st.sampled_from(sorted(CURRENCIES))


@pytest.mark.parametrize(
    ("amount", "currency", "expected"),
    [
        ("0.125", "EUR", "0.13"),  # half to even would give 0.12
        ("0.135", "EUR", "0.14"),
        ("0.1249999", "EUR", "0.12"),
        ("-0.125", "EUR", "-0.13"),
        ("2.5", "JPY", "3"),  # half to even would give 2
        ("3.5", "JPY", "4"),
        ("1234.4999", "JPY", "1234"),
        ("0.0005", "KWD", "0.001"),
        ("0.0004", "KWD", "0.000"),
        ("1.00005", "CLF", "1.0001"),
        ("7", "USD", "7.00"),
    ],
)
def test_a_half_of_the_smallest_unit_is_rounded_away_from_zero(amount, currency, expected):
    found = rounded(Decimal(amount), currency)

    assert str(found) == expected


@given(AMOUNTS, CODES)
def test_rounding_moves_an_amount_by_half_a_unit_at_most_and_rounding_again_by_nothing(amount, currency):
    unit = Fraction(1, 10 ** minor_units(currency))

    found = rounded(amount, currency)

    assert abs(Fraction(found) - Fraction(amount)) <= unit / 2
    assert (Fraction(found) / unit).denominator == 1
    assert rounded(found, currency) == found


@given(AMOUNTS, CODES)
def test_a_credit_is_rounded_as_the_charge_it_undoes(amount, currency):
    assert rounded(-amount, currency) == -rounded(amount, currency)


def test_the_exceptions_are_currencies_and_the_columns_hold_the_finest():
    assert set(MINOR_UNITS) <= CURRENCIES
    assert MOST_MINOR_UNITS == 4
    assert minor_units("EUR") == minor_units("USD") == 2


@pytest.mark.parametrize("code", ["EUX", "eur", "EU", "", "XAU", "HRK"])
def test_what_is_no_currency_is_refused_with_the_value_and_what_to_give(code):
    with pytest.raises(ValidationError) as refusal:
        currency_known(code)

    (said,) = refusal.value.messages
    assert repr(code) in said
    assert "three-letter code" in said


@pytest.mark.parametrize("code", ["EUR", "USD", "JPY", "KWD", "XCG"])
def test_a_currency_is_taken(code):
    currency_known(code)


@pytest.mark.parametrize(
    ("amount", "currency", "said"),
    [
        ("1234.5", "EUR", "1,234.50 EUR"),
        ("1234.5000", "EUR", "1,234.50 EUR"),
        ("1234.5", "JPY", "1,235 JPY"),
        ("0.0126", "BHD", "0.013 BHD"),
        ("0", "USD", "0.00 USD"),
    ],
)
def test_a_price_is_said_to_the_smallest_unit(amount, currency, said):
    assert price(Decimal(amount), currency) == said
