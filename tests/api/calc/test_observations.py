"""The words of observations."""

import pytest

from api.calc.observations import INFILTRATION_RATE, RATE_UCUM, UCUM_OF, property_of
from core.calc.paving import TestMethod
from exchange.calc.unit_words import UNITS
from qa.calc.field_tests import FIELD_TESTS
from qa.calc.methods import WITHOUT_RATE


@pytest.mark.parametrize("method", TestMethod)
def test_methods_that_give_a_rate_observe_the_rate_and_the_others_something_else(method):
    assert (property_of(method) == INFILTRATION_RATE) == (method not in WITHOUT_RATE)


def test_units_are_those_that_spreadsheets_have():
    assert UNITS["mm/h"].ucum == RATE_UCUM


def test_every_unit_that_a_method_gives_has_a_code():
    """m² a litre and 1 a second, by the rules of UCUM: `m2/L`, and `/s` for a number over a unit."""
    assert set(FIELD_TESTS) | {TestMethod.RING} == set(TestMethod)
    assert UCUM_OF == {"m²/L": "m2/L", "1/s": "/s", "": "1"}
