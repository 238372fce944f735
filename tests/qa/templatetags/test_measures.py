"""Values that may be missing, as pages show them."""

import pytest

from qa.models import ConstructionCheck
from qa.presentation.checks import asked_of_text
from qa.selectors.gradation import SieveRow
from qa.templatetags.gradation import sieve_asked, sieve_finding
from qa.templatetags.measures import in_unit

GRAMS = '<span class="num">{}\u00a0<span class="unit">g</span></span>'


@pytest.mark.parametrize(("number", "shown"), [(12.345, "12.3"), (0.0, "0"), ("97.0", "97.0")])
def test_a_number_stands_with_its_unit_be_it_nought(number, shown):
    assert in_unit(number, "g") == GRAMS.format(shown)


@pytest.mark.parametrize("missing", [None, ""])
def test_what_was_not_measured_is_empty(missing):
    assert in_unit(missing, "g") == ""


def row(**changes):
    return SieveRow(
        **{"label": "4.75 mm", "sieve_mm": 4.75, "passing": 5.0, "low": 0.0, "high": 10.0} | changes
    )


@pytest.mark.parametrize(
    ("limits", "asked"),
    [({}, "0 to 10"), ({"low": 100.0, "high": 100.0}, "100")],
)
def test_a_band_is_a_range_or_one_number(limits, asked):
    assert sieve_asked(row(**limits)) == GRAMS.format(asked).replace(">g<", ">%<")


def test_a_sieve_without_limits_is_free():
    free = row(low=None, high=None)

    assert (sieve_asked(free), sieve_finding(free)) == ("no limit", "–")


def test_a_sieve_outside_says_why():
    assert sieve_finding(row(reason="12 % where 10 % may pass")) == (
        '<span class="tag tag--bad">out</span> 12 % where 10 % may pass'
    )


@pytest.mark.parametrize(
    ("each", "readings", "words"),
    [
        ("", 1, "Required"),
        ("lift", 1, "Required, for each lift"),
        ("lift", 3, "Required, for each lift, at 3 places"),
    ],
)
def test_a_check_says_of_what_and_how_often_it_is_asked(each, readings, words):
    check = ConstructionCheck(each=each, readings_asked=readings)

    assert asked_of_text(check) == words
