"""What waiting costs, for each kind of advice."""

from datetime import date
from decimal import Decimal

import pytest

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import Advice, Option
from maintenance.calc.needs import CleaningNeed, Needs, Rival
from maintenance.calc.vocabulary import Action
from maintenance.calc.waiting import HOURS_LOOK, HOURS_TEST_ROUND, waiting_costs, weighed
from maintenance.calc.windows import Window
from tests.maintenance.calc.test_states import status

TODAY = date(2026, 6, 1)
HERE = status(0.25)
NEEDS = Needs("EUR", Decimal(2000), Decimal(3000), test_saves=Decimal(800), source_saves=Decimal(8000))
RESTORE = CleaningNeed(
    TODAY, Rival(CleaningMethod.RELAY, Decimal(9000), Decimal(700)), 0.4, (), 40.0, wants_fresh_test=True
)


def piece(action, **changes):
    return Advice(action, Window(TODAY, TODAY), ("Because.",), **changes)


@pytest.mark.parametrize(
    ("advice", "costs"),
    [
        (piece(Action.CLEAN, saves=Decimal("123.45")), "123.45"),
        (piece(Action.CLEAN, saves=Decimal(-5)), "0.00"),
        (piece(Action.CLEAN, is_agreed=True, saves=Decimal(50)), "0"),
        (piece(Action.TEST), "20.00"),  # 800 over ten years of quarters
        (piece(Action.SOURCE), "100.00"),  # 8,000 over twenty
        (piece(Action.LOOK), "125.00"),  # a quarter of 2,000 by its chance
    ],
)
def test_a_quarters_waiting_costs_what_each_kind_saves(advice, costs):
    assert waiting_costs(advice, NEEDS, HERE) == Decimal(costs)


def test_a_test_that_a_restoration_waits_for_costs_what_the_restoration_saves():
    needs = Needs("EUR", Decimal(2000), Decimal(3000), cleaning=RESTORE)

    assert waiting_costs(piece(Action.TEST), needs, HERE) == Decimal(700)


def test_what_was_not_compared_costs_nothing_that_is_known():
    needs = Needs("EUR", Decimal(2000), Decimal(3000))

    assert [waiting_costs(piece(a), needs, HERE) for a in (Action.TEST, Action.SOURCE)] == [0, 0]


def test_the_hours_are_those_of_the_method_and_the_chance_is_todays():
    option = Option(CleaningMethod.VACUUM, 900.0, 2.5, 0.9, Decimal(450), None)
    hours = {CleaningMethod.VACUUM: 1.234}
    pieces = [piece(Action.CLEAN, option=option), piece(Action.TEST), piece(Action.LOOK)]

    found = [weighed(one, NEEDS, HERE, hours) for one in pieces]

    assert [one.crew_hours for one in found] == [1.23, HOURS_TEST_ROUND, HOURS_LOOK]
    assert {one.chance for one in found} == {0.25}
