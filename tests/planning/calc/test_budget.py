"""Ten years of many surfaces, against a walk through every surface and year by itself."""

import json
from math import sqrt
from random import Random

import numpy as np
import pytest

from core.calc.paving import CleaningMethod
from core.calc.payload import from_text
from maintenance.calc.care_payload import CareKind
from maintenance.calc.deciding.budget import Care, choose_care
from planning.calc.budget import WIDTH_80, Compared, Comparison, offers_of, plan_years, worst_first

YEARS = 3
METHODS = [CleaningMethod.VACUUM, CleaningMethod.REGEN_AIR]
KINDS = [CareKind.NOTHING, CareKind.ADVISED, CareKind.SOURCE, CareKind.CALENDAR]


def spread(draw, mean):
    return {"mean": mean, "lo80": mean * draw.uniform(0.2, 0.9), "hi80": mean * draw.uniform(1.1, 2)}


def stored(draw):
    """A comparison as a forecast keeps it, with fields that are not asked for here."""
    outcomes = [
        {
            "kind": kind,
            "programme": {"sweepings_a_year": 1.0},
            "cost_a_year": spread(draw, draw.uniform(0, 900)),
            "months_below": draw.uniform(0, 12),
            "uses": [{"method": method, "a_year": draw.uniform(0.1, 2)} for method in METHODS],
            "tests_a_year": draw.choice([0.0, 0.5]),
            "by_year": [
                {"cost": spread(draw, draw.uniform(0, 900)), "months_below": draw.uniform(0, 12)}
                for _ in range(YEARS)
            ],
        }
        for kind in KINDS
    ]
    return {"below_price_m2_yr": draw.uniform(0, 5), "futures": 8, "outcomes": outcomes}


@pytest.fixture
def given():
    """Surfaces, and beside each the plain data that it was read from."""
    draw = Random(4)
    plain = [stored(draw) for _ in range(40)]
    surfaces = [
        Compared(
            name=f"surface {i}",
            owner=draw.choice(["town", "school"]),
            area_m2=draw.uniform(20, 2_000),
            comparison=from_text(Comparison, json.dumps(each)),
            prices={METHODS[0]: 300.0, METHODS[1]: draw.uniform(100, 900)},
            test=250.0,
        )
        for i, each in enumerate(plain)
    ]
    return surfaces, plain


def taken_of(surfaces, draw):
    return Care(np.array([draw.randrange(3) for _ in surfaces]), 0.0, 0.0, 0.0)


def offered(each):
    return [outcome for outcome in each["outcomes"] if outcome["kind"] != CareKind.SOURCE]


def test_each_year_is_the_sum_of_what_each_surface_spends_in_it(given):
    surfaces, plain = given
    care = taken_of(surfaces, Random(5))
    chosen = [offered(each)[p] for each, p in zip(plain, care.taken, strict=True)]

    found = plan_years(surfaces, care)

    assert len(found) == YEARS
    for y, year in enumerate(found):
        costs = [outcome["by_year"][y]["cost"] for outcome in chosen]
        mean = sum(cost["mean"] for cost in costs)
        sd = sqrt(sum(((cost["hi80"] - cost["lo80"]) / WIDTH_80) ** 2 for cost in costs))
        below = sum(
            one.area_m2 * outcome["by_year"][y]["months_below"] / 12
            for one, outcome in zip(surfaces, chosen, strict=True)
        )
        assert year.mean == pytest.approx(mean)
        assert (year.low, year.high) == pytest.approx(
            (max(0.0, mean - sd * WIDTH_80 / 2), mean + sd * WIDTH_80 / 2)
        )
        assert year.below_m2_yr == pytest.approx(below)


def test_a_year_is_told_by_owner_and_by_what_the_money_is_for(given):
    surfaces, plain = given
    care = taken_of(surfaces, Random(6))

    year = plan_years(surfaces, care)[1]

    by_owner, by_kind = {}, {}
    for one, each, p in zip(surfaces, plain, care.taken, strict=True):
        outcome = offered(each)[p]
        money = outcome["by_year"][1]["cost"]["mean"]
        by_owner[one.owner] = by_owner.get(one.owner, 0.0) + money
        spent = {use["method"].label: use["a_year"] * one.prices[use["method"]] for use in outcome["uses"]}
        spent["Tests"] = outcome["tests_a_year"] * one.test
        for kind, amount in spent.items():
            if amount:
                by_kind[kind] = by_kind.get(kind, 0.0) + money * amount / sum(spent.values())
    assert year.by_owner == pytest.approx(by_owner)
    assert year.by_kind == pytest.approx(by_kind)
    assert sum(year.by_kind.values()) == pytest.approx(year.mean)


def test_the_share_below_is_of_area_and_time(given):
    surfaces, plain = given
    care = taken_of(surfaces, Random(7))

    share = offers_of(surfaces).below_share(care)

    months = [offered(each)[p]["months_below"] for each, p in zip(plain, care.taken, strict=True)]
    below = sum(one.area_m2 * each / 12 for one, each in zip(surfaces, months, strict=True))
    assert share == pytest.approx(below / sum(one.area_m2 for one in surfaces))


def test_what_a_sum_buys_leaves_no_more_below_than_worst_first(given):
    surfaces, _ = given
    known = offers_of(surfaces).known
    money = (known.cost.min(1).sum() + choose_care(known, np.inf).cost) / 2

    bought = choose_care(known, money)

    assert bought.cost <= money
    rival = worst_first(surfaces, money)
    assert bought.cost + bought.below <= rival.cost + rival.below


def test_no_surface_makes_no_years():
    assert plan_years([], Care(np.zeros(0, dtype=int), 0.0, 0.0, 0.0)) == []
    assert offers_of([]).below_share(Care(np.zeros(0, dtype=int), 0.0, 0.0, 0.0)) == 0.0
