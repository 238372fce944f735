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
