"""When advice has changed materially since an owner was shown it."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.calc.release_payload import ReleasedAdvice
from maintenance.calc.releases import differences
from maintenance.calc.vocabulary import Action

DAY = date(2026, 6, 1)
SHOWN = ReleasedAdvice(Action.CLEAN, "vacuum", "Clean: vacuum", DAY, DAY, Decimal(400), "EUR", ("Because.",))


@pytest.mark.parametrize(
    ("changes", "count"),
    [
        ({}, 0),
        ({"reasons": ("Said otherwise.",)}, 0),
        ({"cost": Decimal(420)}, 0),
        ({"cost": Decimal("420.01")}, 1),
        ({"cost": Decimal("379.99")}, 1),
        ({"cost": None}, 1),
        ({"currency": "CHF"}, 1),
        ({"due_on": DAY + timedelta(days=30)}, 0),
        ({"due_on": DAY - timedelta(days=31)}, 1),
        ({"method": "broom"}, 1),
        ({"action": Action.REJOINT, "method": "mill", "cost": Decimal(9000)}, 2),
    ],
)
def test_a_change_counts_from_where_an_owner_might_decide_otherwise(changes, count):
    assert len(differences(SHOWN, replace(SHOWN, **changes))) == count


def test_what_is_asked_for_no_longer_says_only_that():
    assert differences(SHOWN, replace(SHOWN, cost=None), is_gone=True) == (
        "Newer facts no longer ask for it.",
    )


def test_it_reads_back_as_it_was_stored():
    assert ReleasedAdvice.from_json(SHOWN.to_json()) == SHOWN
