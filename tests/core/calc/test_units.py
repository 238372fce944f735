from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc import units
from core.calc.units import Quantity, UnitSystem

VALUES = st.floats(min_value=-1e6, max_value=1e6, allow_nan=False)


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("quantity", Quantity)
@given(value=VALUES)
def test_what_is_shown_reads_back_as_what_was_stored(quantity, system, value):
    shown = units.to_display(value, quantity, system)

    assert units.from_display(shown.value, quantity, system) == pytest.approx(value, rel=1e-12, abs=1e-9)
    assert shown.unit == units.unit_of(quantity, system)


@pytest.mark.parametrize(
    ("value_si", "quantity", "shown"),
    [
        (2540, Quantity.RATE, "100 in/h"),
        (92.90304, Quantity.AREA, "1000 ft²"),
        (304.8, Quantity.SHORT_LENGTH, "12 in"),
        (3.048, Quantity.LENGTH, "10 ft"),
        (18.1436948, Quantity.MASS, "40 lb"),
        (20, Quantity.TEMPERATURE, "68 °F"),
        (-40, Quantity.TEMPERATURE, "-40 °F"),
        (68.94757293, Quantity.PRESSURE, "1000 psi"),  # 1 psi is 6894.757 Pa: NIST SP 811, B.8 (from memory)
    ],
)
def test_stored_values_are_shown_in_us_customary_units(value_si, quantity, shown):
    assert str(units.to_display(value_si, quantity, UnitSystem.US)) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0, "0"), (0.01234, "0.0123"), (15278.9, "15\u202f300"), (2540, "2540"), (97.2, "97.2"), (-5.5, "-5.5")],
)
def test_numbers_are_rounded_for_reading_without_powers_of_ten(value, shown):
    assert units.rounded_for_reading(value) == shown


PRICES = st.decimals(min_value="0.0001", max_value=9_999, places=units.PRICE_DECIMALS)


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("quantity", units.MEASURED_BY)
@given(typed=PRICES)
def test_a_price_by_area_or_mass_comes_back_as_it_was_typed(quantity, system, typed):
    stored = units.price_from_display(typed, quantity, system)

    assert stored.as_tuple().exponent == -units.PRICE_DECIMALS
    assert units.price_to_display(stored, quantity, system) == typed


@pytest.mark.parametrize(
    ("price_si", "quantity", "shown"),
    [
        ("10.7639", Quantity.PRICE_BY_AREA, "1.00"),  # a m² is 10.76391 ft²
        ("2.6910", Quantity.PRICE_BY_AREA, "0.25"),
        ("0.0807", Quantity.PRICE_BY_AREA, "0.0075"),
        ("2.2046", Quantity.PRICE_BY_MASS, "1.00"),  # a kg is 2.204 62 lb
    ],
)
def test_prices_are_shown_by_the_ft2_and_the_lb_with_the_decimals_they_need(price_si, quantity, shown):
    assert str(units.price_to_display(Decimal(price_si), quantity, UnitSystem.US)) == shown


@given(typed=PRICES, area_m2=st.floats(min_value=1.0, max_value=1e5))
def test_what_an_area_costs_is_the_same_by_either_unit_but_for_the_last_decimal_stored(typed, area_m2):
    """Half of the last decimal of the stored price, on every m²."""
    stored = units.price_from_display(typed, Quantity.PRICE_BY_AREA, UnitSystem.US)
    by_ft2 = float(typed) * units.to_display(area_m2, Quantity.AREA, UnitSystem.US).value

    assert float(stored) * area_m2 == pytest.approx(by_ft2, abs=0.000051 * area_m2)
