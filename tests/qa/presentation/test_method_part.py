"""What one method says of a round, in the words of its part of the page."""

import pytest

from qa.presentation.method_part import MethodPart, SpotLine
from qa.selectors.rounds import FACTORS


def part(**changes):
    values = {
        "round": None,
        "result": None,
        "figures": (),
        "chart": None,
        "spots": (),
        "known_within": None,
        "factor": FACTORS[0],
        "more": None,
    }
    return MethodPart(**values | changes)


@pytest.mark.parametrize(
    ("tests", "words"), [(1, ""), (2, "two"), (3, "the first two"), (4, "the first two")]
)
def test_a_spot_says_which_of_its_tests_count(tests, words):
    line = SpotLine(spot=None, tests=(None,) * tests, may_be_repeated=False)

    assert line.mean_of == words


@pytest.mark.parametrize(("within", "little"), [(None, False), (10.0, False), (10.1, True)])
def test_a_range_wider_than_ten_either_way_tells_little(within, little):
    assert part(known_within=within).tells_little is little


def test_of_the_factors_on_offer_the_one_asked_about_is_chosen():
    choices = part(factor=FACTORS[1]).factor_choices

    assert [choice.value for choice in choices] == list(FACTORS)
    assert [choice.value for choice in choices if choice.is_chosen] == [FACTORS[1]]
