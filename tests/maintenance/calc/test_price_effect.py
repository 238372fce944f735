"""What other prices do to open advice."""

from decimal import Decimal

import pytest

from maintenance.calc.price_effect import Effect, Priced, effect_of


def priced(was, now, saves=50):
    return Priced(Decimal(was), Decimal(now), Decimal(saves))


@pytest.mark.parametrize(
    ("row", "found"),
    [
        (priced(100, 105), Effect(1, 0, 0, 0)),
        (priced(100, 106), Effect(1, 1, 0, 0)),
        (priced(100, 94), Effect(1, 0, 1, 0)),
        (priced(100, 150), Effect(1, 1, 0, 1)),
        (priced(100, 149), Effect(1, 1, 0, 0)),
        (priced(100, 300, saves=0), Effect(1, 1, 0, 0)),
    ],
)
def test_a_price_counts_from_a_twentieth_on_and_advice_is_lost_where_nothing_is_saved(row, found):
    assert effect_of([row]) == found


def test_the_counts_are_of_all():
    found = effect_of([priced(100, 150), priced(100, 50), priced(100, 100)])

    assert (found, found.changed) == (Effect(3, 1, 1, 1), 2)
