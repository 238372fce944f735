"""Prices by area and mass: typed in the reader's units, stored by m² and kg, given back as they were typed."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from accounts.forms.people import OwnerForm
from core.calc.units import MEASURED_BY, Quantity, UnitSystem
from core.forms.prices import PriceField
from tests.factories import OwnerFactory

TYPED = st.decimals(min_value="0.0001", max_value=9_999, places=4)


def field_of(units, quantity=Quantity.PRICE_BY_AREA, **given_):
    return PriceField(quantity=quantity, units=units, currency="USD", label="for each {unit}", **given_)


@pytest.mark.parametrize("quantity", MEASURED_BY)
@pytest.mark.parametrize("system", UnitSystem)
@given(typed=TYPED)
def test_what_was_typed_is_shown_again_and_counts_as_unchanged(quantity, system, typed):
    field = field_of(system.value, quantity)

    stored = field.clean(f"{typed:f}")

    shown = field.prepare_value(stored)
    assert Decimal(shown) == typed
    assert not field.has_changed(stored, shown)
    assert field.clean(shown) == stored


@pytest.mark.parametrize(
    ("units", "quantity", "label", "unit"),
    [
        ("si", Quantity.PRICE_BY_AREA, "for each m²", "USD/m²"),
        ("us", Quantity.PRICE_BY_AREA, "for each ft²", "USD/ft²"),
        ("si", Quantity.PRICE_BY_MASS, "for each kg", "USD/kg"),
        ("us", Quantity.PRICE_BY_MASS, "for each lb", "USD/lb"),
    ],
)
def test_label_and_unit_name_what_the_price_is_for(units, quantity, label, unit):
    field = field_of(units, quantity)

    assert (field.label, field.unit) == (label, unit)


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("0.00001", "0.00001 has more than 4 decimals"),
        ("-0.01", "-0.01 USD/.* is too small. Give 0 USD/.* or more"),
        ("1e30", "is too large. Give .* USD/.* or less"),
        ("1234567", "1234567 USD/.* is too large"),
        ("NaN", "number"),
        ("Infinity", "number"),
        ("much", "number"),
        ("", "required"),
    ],
)
def test_what_can_be_no_price_is_refused(system, typed, said):
    with pytest.raises(ValidationError, match=said):
        field_of(system.value).clean(typed)


def test_the_end_is_told_in_the_units_it_was_typed_in():
    with pytest.raises(ValidationError, match=r"Give 92902\.9471 USD/ft² or less"):  # 999,999 a m²
        field_of("us").clean("99999")


@pytest.mark.django_db
@pytest.mark.parametrize("system", UnitSystem)
def test_a_price_in_other_units_that_nobody_touched_stays_as_it_is(system):
    owner = OwnerFactory(below_price_m2_yr=Decimal("2.50"))
    form = OwnerForm(instance=owner, units=system.value)
    page = {name: form[name].value() or "" for name in form.fields}
    page["below_price_m2_yr"] = form["below_price_m2_yr"].field.prepare_value(owner.below_price_m2_yr)
    page["name"] = "Another name"

    sent = OwnerForm(page, instance=owner, units=system.value)

    assert page["below_price_m2_yr"] == {"si": "2.50", "us": "0.2323"}[system.value]
    assert sent.is_valid(), sent.errors
    assert sent.save(commit=False).below_price_m2_yr == Decimal("2.50")


def test_a_shut_field_gives_back_what_is_stored():
    field = field_of("us", disabled=True)

    assert field.clean(Decimal("2.5000")) == Decimal("2.5000")
    assert not field.has_changed(Decimal("2.5000"), "9")
