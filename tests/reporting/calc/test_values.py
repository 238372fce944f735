"""Values of snapshots."""

from decimal import Decimal

import pytest

from reporting.calc.values import Money, UnitText, grown, in_both, sums


def test_a_sentence_reads_in_either_system():
    text = in_both(lambda units: f"in {units}")

    assert text == UnitText("in si", "in us")
    assert (text.in_units("si"), text.in_units("us")) == ("in si", "in us")


def test_another_system_is_refused():
    with pytest.raises(ValueError, match="imperial"):
        UnitText("a", "b").in_units("imperial")


def euros(amount):
    return Money(Decimal(amount), "EUR")


@pytest.mark.parametrize(
    ("amounts", "total"),
    [
        ([], ()),
        ([None, None], ()),
        ([euros("12.50"), None, euros("0.75")], (euros("13.25"),)),
        ([euros("12.50"), euros("-12.50")], ()),
        (
            [Money(Decimal(3), "USD"), euros(1), Money(Decimal(4), "USD")],
            (euros(1), Money(Decimal(7), "USD")),
        ),
        ([Money(Decimal(5), "CHF"), euros(0)], (Money(Decimal(5), "CHF"),)),
    ],
)
def test_amounts_add_up_within_their_currency_and_unknown_ones_are_left_out(amounts, total):
    assert sums(amounts) == total


def test_an_older_document_whose_parts_only_gained_fields_is_taken_as_it_is():
    fields = {"a": 1, "b": [2]}

    assert grown(fields) is fields
