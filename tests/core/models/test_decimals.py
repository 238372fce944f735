"""What Python reads as a decimal number and cannot compare is refused before a form asks whether it changed."""

import re
from decimal import Decimal
from pathlib import Path

import pytest
from django import forms

from core.calc.units import Quantity
from core.forms.prices import PriceField
from core.models.decimals import DecimalColumn, DecimalEntry

ROOT = Path(__file__).resolve().parents[3]
APPS = (
    "accounts",
    "api",
    "core",
    "exchange",
    "fieldwork",
    "maintenance",
    "operations",
    "planning",
    "qa",
    "reporting",
)
NOT_NUMBERS = ("sNaN", "NaN", "-sNaN12", "Infinity", "-inf")


class Priced(forms.Form):
    amount = DecimalEntry(initial=Decimal("1.50"))
    price = PriceField(
        quantity=Quantity.PRICE_BY_AREA, label="a price for each {unit}", initial=Decimal("2.50")
    )


@pytest.mark.parametrize("typed", NOT_NUMBERS)
def test_what_is_no_number_is_refused_in_words_and_counts_as_a_change(typed):
    form = Priced({"amount": typed, "price": typed})

    assert form.changed_data == ["amount", "price"]
    assert form.errors == {"amount": ["Enter a number."], "price": ["Enter a number."]}


@pytest.mark.parametrize("typed", ["1.5", "1.50", " 1.500 "])
def test_a_number_that_stayed_is_no_change(typed):
    assert not DecimalEntry().has_changed(Decimal("1.50"), typed)


def test_a_plain_field_cannot_tell_whether_it_was_changed():
    """The control: what is guarded against."""
    with pytest.raises(ArithmeticError):
        forms.DecimalField().has_changed(Decimal(1), "sNaN")


def test_forms_of_a_column_ask_for_an_entry_and_migrations_see_a_plain_column():
    column = DecimalColumn(max_digits=8, decimal_places=2)

    assert isinstance(column.formfield(), DecimalEntry)
    assert column.deconstruct()[1] == "django.db.models.DecimalField"


def test_every_decimal_number_is_such_a_column_or_entry():
    plain = [
        str(path.relative_to(ROOT))
        for app in APPS
        for path in (ROOT / app).rglob("*.py")
        if "migrations" not in path.parts
        and re.search(r"(models|forms)\.DecimalField\b(?!, Kind)", path.read_text(encoding="utf-8"))
    ]

    assert plain == ["core/models/decimals.py"]
