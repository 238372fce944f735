"""What a quote comes to: invoices worked out by hand, odd roundings, and what always holds."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.currency import minor_units
from core.calc.units import UnitSystem, price_from_display
from planning.calc.quotes import (
    BY_AREA,
    BY_MASS,
    Asked,
    Sums,
    Tax,
    amount_of,
    approval_state,
    number_words,
    sums_of,
    up_to_minimum,
)
from planning.calc.vocabulary import ApprovalState

ADDED = Tax("VAT", Decimal(19), is_included=False)
HELD = Tax("VAT", Decimal(19), is_included=True)
NONE = Tax("", Decimal(0), is_included=False)

QUANTITIES = st.decimals(min_value="0.01", max_value=99_999, places=2)
PRICES = st.decimals(min_value=0, max_value=9_999, places=4)
PERCENTS = st.decimals(min_value=0, max_value=100, places=3)
CODES = st.sampled_from(["EUR", "JPY", "KWD", "CLF"])


def money(*amounts):
    return [Decimal(amount) for amount in amounts]


@pytest.mark.parametrize(
    ("quantity", "unit_price", "currency", "amount"),
    [
        ("850.00", "0.4550", "EUR", "386.75"),
        ("333.33", "0.15", "EUR", "50.00"),  # 49.9995
        ("1.5", "0.03", "EUR", "0.05"),  # 0.045, which half to even would make 0.04
        ("850", "52", "JPY", "44200"),
        ("12.5", "3", "JPY", "38"),  # 37.5
        ("1", "0.0005", "KWD", "0.001"),
    ],
)
def test_an_amount_is_rounded_line_by_line(quantity, unit_price, currency, amount):
    assert amount_of(Decimal(quantity), Decimal(unit_price), currency) == Decimal(amount)


def test_an_invoice_with_tax_added():
    """1,240 m² at 0.45 = 558.00, a test at 160.00, a call-out at 60.00: 778.00; 19 % of it is 147.82."""
    lines = [amount_of(*money("1240", "0.45"), "EUR"), *money("160.00", "60.00")]

    assert sums_of(lines, ADDED, "EUR") == Sums(*money("778.00", "147.82", "925.82"))


def test_an_invoice_with_tax_held_in_the_prices():
    """925.82 with 19 % in it: 925.82 x 19 / 119 = 147.8200, so 778.00 are net."""
    assert sums_of(money("925.82"), HELD, "EUR") == Sums(*money("778.00", "147.82", "925.82"))


def test_the_tax_is_rounded_once_on_the_sum_and_not_line_by_line():
    """Three lines of 0.35: 19 % of 1.05 is 0.1995, so 0.20; line by line it would be 3 x 0.07 = 0.21."""
    assert sums_of(money("0.35", "0.35", "0.35"), ADDED, "EUR") == Sums(*money("1.05", "0.20", "1.25"))


def test_a_tax_of_half_a_cent_is_rounded_up():
    """0.50 at 19 % is 0.095; 10.50 at 5 % is 0.525."""
    assert sums_of(money("0.50"), ADDED, "EUR").tax == Decimal("0.10")
    assert sums_of(money("10.50"), Tax("GST", Decimal(5), is_included=False), "EUR").tax == Decimal("0.53")


def test_an_invoice_in_a_currency_without_a_smaller_unit():
    """44,200 + 1,005 = 45,205; a tenth is 4,520.5, so 4,521."""
    tax = Tax("Consumption tax", Decimal(10), is_included=False)

    assert sums_of(money("44200", "1005"), tax, "JPY") == Sums(*money("45205", "4521", "49726"))


def test_without_a_tax_the_lines_are_the_total():
    assert sums_of(money("12.34", "5.00"), NONE, "EUR") == Sums(*money("17.34", "0.00", "17.34"))
    assert sums_of([], ADDED, "EUR") == Sums(*money("0", "0", "0"))


@given(st.lists(st.tuples(QUANTITIES, PRICES), max_size=12), PERCENTS, st.booleans(), CODES)
def test_the_lines_and_the_tax_are_the_total_to_the_smallest_unit(lines, percent, included, currency):
    amounts = [amount_of(quantity, unit_price, currency) for quantity, unit_price in lines]

    found = sums_of(amounts, Tax("Tax", percent, included), currency)

    listed = sum(amounts, Decimal(0))
    assert found.net + found.tax == found.total
    assert (found.total if included else found.net) == listed
    assert listed + (0 if included else found.tax) == found.total
    unit = Fraction(1, 10 ** minor_units(currency))
    assert all((Fraction(amount) / unit).denominator == 1 for amount in (found.net, found.tax, found.total))


@given(st.lists(st.tuples(QUANTITIES, PRICES), min_size=1, max_size=12), PERCENTS, st.booleans(), CODES)
def test_the_tax_is_within_half_a_unit_of_the_exact_one(lines, percent, included, currency):
    amounts = [amount_of(quantity, unit_price, currency) for quantity, unit_price in lines]

    found = sums_of(amounts, Tax("Tax", percent, included), currency)

    listed, rate = Fraction(sum(amounts, Decimal(0))), Fraction(percent) / 100
    exact = listed * rate / (1 + rate) if included else listed * rate
    assert abs(Fraction(found.tax) - exact) <= Fraction(1, 10 ** minor_units(currency)) / 2


@given(st.lists(st.tuples(QUANTITIES, PRICES), max_size=8), PERCENTS)
def test_the_order_of_the_lines_does_not_matter(lines, percent):
    amounts = [amount_of(quantity, unit_price, "EUR") for quantity, unit_price in lines]
    tax = Tax("Tax", percent, is_included=False)

    assert sums_of(amounts, tax, "EUR") == sums_of(reversed(amounts), tax, "EUR")


def asked(area, key=("site", "vacuum"), per_m2="0.50", minimum="200"):
    return Asked(key, *money(area, per_m2, minimum))


def test_surfaces_of_a_site_share_one_minimum():
    """100 m² and 120 m² at 0.50 are 50 + 60: 90 are missing to 200."""
    assert up_to_minimum([asked("100"), asked("120")], "EUR") == {("site", "vacuum"): Decimal(90)}


def test_what_reaches_the_minimum_is_charged_by_area():
    assert up_to_minimum([asked("250"), asked("150")], "EUR") == {}
    assert up_to_minimum([asked("9000")], "EUR") == {}


def test_another_site_or_another_way_of_cleaning_has_a_minimum_of_its_own():
    work = [asked("100"), asked("100", ("other", "vacuum")), asked("100", ("site", "broom"), minimum="80")]

    assert up_to_minimum(work, "EUR") == {
        ("site", "vacuum"): Decimal(150),
        ("other", "vacuum"): Decimal(150),
        ("site", "broom"): Decimal(30),
    }


@given(st.lists(QUANTITIES, min_size=1, max_size=6), PRICES, PRICES)
def test_areas_and_what_is_added_never_come_to_less_than_the_minimum(areas, per_m2, minimum):
    work = [Asked(("s", "m"), area, per_m2, minimum) for area in areas]

    added = up_to_minimum(work, "EUR").get(("s", "m"), Decimal(0))

    charged = sum(amount_of(area, per_m2, "EUR") for area in areas) + added
    assert added >= 0
    assert charged >= amount_of(Decimal(1), minimum, "EUR")
    assert not added or charged == amount_of(Decimal(1), minimum, "EUR")


def test_an_area_is_counted_to_the_hundredth():
    counted = tuple(BY_AREA.number(area_m2, UnitSystem.SI) for area_m2 in (850.0, 0.125, 1234.567))

    assert counted == tuple(money("850.00", "0.13", "1234.57"))


def test_in_us_customary_units_areas_are_counted_in_ft2_and_material_in_lb():
    """1,000 ft² are 92.90304 m² and 100 lb are 45.359237 kg, by definition of the foot and the pound."""
    assert BY_AREA.number(92.90304, UnitSystem.US) == Decimal(1000)
    assert BY_MASS.number(45.359237, UnitSystem.US) == Decimal(100)
    assert [counting.unit(UnitSystem.US).label for counting in (BY_AREA, BY_MASS)] == ["ft²", "lb"]


@given(typed=st.decimals(min_value="0.0001", max_value=9_999, places=4))
def test_a_price_typed_by_the_ft2_or_lb_stands_on_the_line_as_it_was_typed(typed):
    for counting in (BY_AREA, BY_MASS):
        stored = price_from_display(typed, counting.price, UnitSystem.US)

        assert counting.price_of(stored, UnitSystem.US) == typed


@pytest.mark.parametrize(
    ("price", "above", "approved", "state"),
    [
        ("100", None, False, ApprovalState.NONE),
        ("100", "100", False, ApprovalState.NONE),  # above the sum, not at it
        ("100.01", "100", False, ApprovalState.NEEDED),
        ("100.01", "100", True, ApprovalState.APPROVED),
        ("5", None, True, ApprovalState.APPROVED),
        (None, "100", False, ApprovalState.NONE),
        ("0.01", "0", False, ApprovalState.NEEDED),
    ],
)
def test_work_above_the_firms_sum_waits_for_its_owner(price, above, approved, state):
    given = [None if amount is None else Decimal(amount) for amount in (price, above)]

    assert approval_state(*given, is_approved=approved) is state


def test_a_quote_is_named_by_its_year_and_number():
    assert number_words(2026, 12) == "2026-0012"
    assert number_words(2026, 12345) == "2026-12345"
