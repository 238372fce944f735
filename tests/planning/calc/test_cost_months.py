"""Cost and price by month and owner: sums by hand, months, shares that lose nothing."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.calc.cost_months import (
    Entry,
    Part,
    Sum,
    agreed_in,
    cost_months,
    crew_cost,
    month_of,
    months_between,
    shares_of,
)

JAN, FEB, MAR = (date(2026, month, 1) for month in (1, 2, 3))
AMOUNTS = st.decimals(min_value=0, max_value=10**6, places=2)


def entry(month, owner, part, price, cost):
    price, cost = (None if amount is None else Decimal(amount) for amount in (price, cost))
    return Entry(month, owner, part, price, cost)


ENTRIES = [
    entry(JAN, "Ash", Part.DONE, "200.00", "90.00"),
    entry(JAN, "Birch", Part.DONE, "50.50", None),
    entry(FEB, "Ash", Part.AHEAD, None, "30.00"),
    entry(FEB, "Ash", Part.AGREEMENT, "100.00", None),
    entry(date(2025, 12, 1), "Ash", Part.DONE, "9999", "9999"),
    entry(date(2026, 4, 1), "Ash", Part.AHEAD, "9999", "9999"),
]


def test_sums_by_month_owner_and_part_with_what_has_no_price_or_cost():
    found = cost_months(ENTRIES, JAN, MAR)

    assert found.months == [JAN, FEB, MAR]
    assert found.total == Sum(Decimal("350.50"), Decimal("120.00"), no_price=1, no_cost=1)
    assert found.of_part[Part.DONE] == Sum(Decimal("250.50"), Decimal("90.00"), no_cost=1)
    assert found.of_month[FEB].price == Decimal(100)
    assert found.by_owner["Ash", JAN].price == Decimal(200)
    assert found.by_part[FEB, Part.AHEAD].cost == Decimal(30)
    assert found.owners == ["Ash", "Birch"]


def test_a_month_without_work_reads_as_nothing():
    found = cost_months(ENTRIES, JAN, MAR)

    assert found.of_month[MAR] == found.by_part[MAR, Part.DONE] == Sum()
    assert cost_months([], JAN, MAR).total == Sum()


def test_the_month_of_an_agreement_costs_nothing_that_could_be_missing():
    assert cost_months([ENTRIES[3]], JAN, MAR).total.no_cost == 0


@given(
    st.lists(
        st.builds(
            Entry,
            st.sampled_from([JAN, FEB, MAR]),
            st.sampled_from(["Ash", "Birch", "Cedar"]),
            st.sampled_from(list(Part)),
            st.none() | AMOUNTS,
            st.none() | AMOUNTS,
        ),
        max_size=30,
    )
)
def test_whichever_way_it_is_added_up_it_comes_to_the_same(entries):
    found = cost_months(entries, JAN, MAR)

    for sums in (found.cells, found.of_part, found.of_month, found.by_part, found.by_owner):
        assert sum((each.price for each in sums.values()), Decimal(0)) == found.total.price
        assert sum((each.cost for each in sums.values()), Decimal(0)) == found.total.cost
        assert sum(each.no_price for each in sums.values()) == found.total.no_price


def test_months_run_over_the_turn_of_a_year():
    found = months_between(date(2025, 11, 30), date(2026, 2, 1))

    assert found == [date(2025, 11, 1), date(2025, 12, 1), JAN, FEB]
    assert months_between(date(2026, 1, 31), date(2026, 1, 1)) == [JAN]
    assert month_of(date(2024, 2, 29)) == date(2024, 2, 1)


@pytest.mark.parametrize(
    ("price", "currency"), [("1000.00", "EUR"), ("100", "JPY"), ("0.01", "EUR"), ("7.001", "KWD")]
)
def test_twelve_months_of_an_agreement_are_its_price(price, currency):
    months = [agreed_in(date(2026, month, 1), Decimal(price), currency) for month in range(1, 13)]

    assert sum(months) == Decimal(price)
    assert max(months) - min(months) <= Decimal("1" if currency == "JPY" else "0.01")


def test_a_call_out_is_divided_among_the_works_it_serves():
    """300 and 100 of 400, with 45 of call-out: 445 divided three to one."""
    found = shares_of(Decimal(445), {"a": Decimal(300), "b": Decimal(100)}, "EUR")

    assert found == {"a": Decimal("333.75"), "b": Decimal("111.25")}


@given(AMOUNTS, st.lists(AMOUNTS, min_size=1, max_size=9))
def test_shares_come_to_the_whole_each_within_a_cent_and_none_below_nothing(whole, amounts):
    found = shares_of(whole, dict(enumerate(amounts)), "EUR")

    assert sum(found.values()) == whole
    assert min(found.values()) >= 0
    total = sum(amounts)
    for i, amount in enumerate(amounts):
        exact = whole * amount / total if total else whole / len(amounts)
        assert abs(found[i] - exact) < Decimal("0.0101")


@pytest.mark.parametrize("amounts", [(0, 0), (3, -3)], ids=["nothing", "a credit as large as the price"])
def test_nothing_to_go_by_is_divided_evenly(amounts):
    a, b = map(Decimal, amounts)

    assert shares_of(Decimal(10), {"a": a, "b": b}, "EUR") == {"a": Decimal(5), "b": Decimal(5)}


@pytest.mark.parametrize(
    ("hours", "charged_m2", "cost"),
    [
        (2.5, None, "150.00"),
        (1 / 3, None, "20.00"),
        (2.5, "0.30", "255.00"),  # 850 m² at what the subcontracted crew charges
        (None, "0.30", "255.00"),
        (None, None, None),
        (0.0, None, "0.00"),
    ],
)
def test_what_work_costs_the_firm(hours, charged_m2, cost):
    charged = None if charged_m2 is None else Decimal(charged_m2)

    found = crew_cost(hours, Decimal(60), charged, 850.0, "EUR")

    assert found == (None if cost is None else Decimal(cost))
