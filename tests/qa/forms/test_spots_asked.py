"""Where nobody has fixed a location, the form says before it is sent that the spot has to be described."""

import pytest

from core.calc.paving import TestMethod
from qa.forms.field_tests import form_for
from qa.models import InfiltrationTest
from tests.factories import LocationFactory, RoundFactory


def spot_of(surface, method):
    test = InfiltrationTest(round=RoundFactory(surface=surface), method=method)
    return form_for(test, None, {}).fields["spot"]


@pytest.mark.parametrize("method", list(TestMethod))
def test_without_a_fixed_location_the_spot_is_asked_for(firm, method):
    assert spot_of(firm.surface, method).help_text


@pytest.mark.parametrize("method", list(TestMethod))
def test_with_one_it_need_not_be_described(firm, method):
    LocationFactory(surface=firm.surface)

    assert not spot_of(firm.surface, method).help_text


def test_one_that_is_no_longer_tested_is_none(firm):
    LocationFactory(surface=firm.surface, retired=True)

    assert spot_of(firm.surface, TestMethod.RING).help_text
