"""Price lists in words."""

from datetime import date
from decimal import Decimal

import pytest

from core.calc.paving import CleaningMethod
from maintenance.calc.price_list import MethodPrice, MethodPrices
from maintenance.presentation.prices import list_lines, percent_words, price_rows, tax_words, unit_price
from maintenance.selectors.prices import ListedPrices
from tests.factories import PriceListFactory


def prices(**changes):
    return PriceListFactory.build(made_by=None, organisation=None, currency="EUR", **changes)


def line(until, *, in_force=False, coming=False):
    (found,) = list_lines([ListedPrices(prices(), until, in_force, coming)])
    return found


@pytest.mark.parametrize(
    ("in_force", "coming", "state", "look"),
    [
        (True, False, "in force", "tag--good"),
        (False, True, "coming", "tag--warn"),
        (False, False, "over", ""),
    ],
)
def test_a_list_says_how_it_stands(in_force, coming, state, look):
    found = line(None, in_force=in_force, coming=coming)

    assert (found.state, found.look, found.days) == (state, look, "")
    assert found.title == "Prices from 1\u00a0Jan\u00a02024"


def test_a_list_holds_to_the_day_before_the_next():
    assert line(date(2025, 3, 1)).days == "until 28\u00a0Feb\u00a02025"


def test_a_list_that_was_mended_on_its_day_says_so():
    assert line(date(2024, 1, 1)).days == "replaced by another of the same day"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "VAT of 19\u00a0%, to be added"),
        ({"prices_include_tax": True}, "VAT of 19\u00a0%, included"),
        (
            {"tax_percent": Decimal("8.875"), "tax_name": "Sales tax"},
            "Sales tax of 8.875\u00a0%, to be added",
        ),
        ({"tax_percent": Decimal(0)}, "no tax"),
    ],
)
def test_the_tax_is_named_with_whether_the_prices_hold_it(changes, said):
    assert tax_words(prices(**changes)) == said


@pytest.mark.parametrize(("percent", "said"), [("19.000", "19"), ("5.5", "5.5"), ("0.125", "0.125")])
def test_a_rate_has_no_needless_decimals(percent, said):
    assert percent_words(Decimal(percent)) == f"{said}\u00a0%"


@pytest.mark.parametrize(
    ("amount", "currency", "said"),
    [
        ("0.5000", "EUR", "0.50 EUR"),
        ("0.1250", "EUR", "0.125 EUR"),
        ("1200", "EUR", "1,200.00 EUR"),
        ("45.5000", "JPY", "45.5 JPY"),
        ("45.0000", "JPY", "45 JPY"),
        ("0.4550", "KWD", "0.455 KWD"),
        ("2500.0000", "USD", "2,500.00 USD"),
    ],
)
def test_a_price_of_one_keeps_its_decimals_and_those_of_the_currency(amount, currency, said):
    assert unit_price(Decimal(amount), currency) == said


def test_what_has_no_price_is_left_out():
    rows = price_rows(prices(test_price=None, material_kg_price=None), "si")

    assert [name for name, _, _ in rows] == [
        "Vacuum sweeping",
        "Broom or blower (leaves)",
        "Joints emptied and refilled",
        "Inspection of a surface",
        "Travel and call-out to a site",
    ]
    assert rows[0][1:] == ("0.50 EUR a m²", "200.00 EUR a site")
    assert rows[3][1:] == ("90.00 EUR", "–")


def test_prices_by_area_and_weight_stand_in_the_readers_units():
    """0.25 a ft² is 2.6910 a m², 0.50 a lb is 1.1023 a kg."""
    methods = MethodPrices((MethodPrice(CleaningMethod.VACUUM, Decimal("2.6910"), Decimal(200)),))
    mine = prices(methods=methods, material_kg_price=Decimal("1.1023"))

    si, us = ([row[1] for row in price_rows(mine, units)] for units in ("si", "us"))

    assert (si[0], si[-1]) == ("2.691 EUR a m²", "1.1023 EUR a kg")
    assert (us[0], us[-1]) == ("0.25 EUR a ft²", "0.50 EUR a lb")
    assert si[1:-1] == us[1:-1]
