"""What must hold of the least cost from here on, whatever the prices: by the theory of dynamic programming.

The least cost is the smallest of sums that are linear in every price, so it is concave in each and grows with each.
"""

from dataclasses import replace

import numpy as np
import pytest

from maintenance.calc.deciding.outlook import coming_year
from maintenance.calc.deciding.table import USUAL, solve
from tests.maintenance.calc.deciding.setting import (
    N_METHODS,
    REFILL,
    RELAY,
    VACUUM,
    as_the_table_says,
    case,
    known,
)

SMALL = USUAL._replace(points=24, years=8)
PRICES = {VACUUM: 450.0, REFILL: 4500.0}
MARGINS = np.linspace(-1.0, 3.0, 9)
SEASONS = range(4)
ALL_YEAR = np.ones((N_METHODS, 12), dtype=bool)
ROUNDING = 1e-6


def least(found_case, one=None, **how):
    """(Q, W, margins) least cost from each season on, at each price of time below."""
    table = solve(one or known(), found_case, how=SMALL, **how)
    levels = table.levels
    zero = np.zeros(MARGINS.size, dtype=int)
    at = tuple(np.broadcast_to(value, MARGINS.shape) for value in (MARGINS, 8.5 - np.log(250.0), 0.3, 0.35))
    return np.array([[table.costs(zero, zero + w, q, at).min(0) for w in range(levels)] for q in SEASONS])


@pytest.fixture(scope="module")
def usual():
    return least(case(prices=PRICES))


@pytest.mark.parametrize(
    ("method", "price"), [(VACUUM, 0.0), (VACUUM, 449.0), (REFILL, 1200.0), (REFILL, 4499.0)]
)
def test_a_cheaper_method_never_raises_the_least_cost(usual, method, price):
    cheaper = least(case(prices=PRICES | {method: price}))

    assert (cheaper <= usual + ROUNDING).all()


def test_a_free_sweeping_lowers_the_least_cost_of_a_worn_surface(usual):
    cheaper = least(case(prices=PRICES | {VACUUM: 0.0}))

    assert (cheaper[..., 0] < usual[..., 0] - 1.0).all()


@pytest.mark.parametrize("price", [100.0, 55_000.0, 1e7])
def test_one_more_method_to_choose_from_never_raises_the_least_cost(usual, price):
    more = least(case(prices=PRICES | {RELAY: price}))

    assert (more <= usual + ROUNDING).all()


def test_a_method_that_nobody_can_pay_changes_nothing(usual):
    assert least(case(prices=PRICES | {RELAY: 1e9})) == pytest.approx(usual)


@pytest.mark.parametrize("closed", [(0,), (0, 3), (0, 1, 3)])
def test_a_closed_season_never_lowers_the_least_cost(usual, closed):
    shut = case(prices=PRICES)
    shut.workable[:, list(closed)] = False

    dearer = least(shut)

    assert (dearer >= usual - ROUNDING).all()
    assert dearer.sum() > usual.sum()


def test_the_least_cost_grows_with_the_price_of_time_below_and_ever_more_slowly():
    below = np.array([[0.0], [500.0], [1000.0], [2000.0], [4000.0], [8000.0]])

    costs = least(case(prices=PRICES), below=below)

    rise = np.diff(costs, axis=1) / np.diff(below[:, 0])[:, None]
    assert (rise >= -ROUNDING).all()
    assert (np.diff(rise, axis=1) <= ROUNDING).all()
    assert costs[:, 0] == pytest.approx(0.0), "time below that is worth nothing is never paid for"


@pytest.mark.parametrize("factor", [0.01, 2.0, 1000.0])
def test_prices_in_another_currency_change_the_sum_and_no_decision(usual, factor):
    prices = {m: factor * p for m, p in PRICES.items()}
    other = case(prices=prices, below=4000.0 * factor, test=150.0 * factor)

    assert least(other) == pytest.approx(factor * usual)


def test_a_surface_that_takes_in_more_never_costs_more(usual):
    assert (np.diff(usual, axis=-1) <= ROUNDING).all()


def test_the_least_cost_is_no_more_than_that_of_never_acting(usual):
    never = least(case(prices={RELAY: 1e9}))

    assert (usual <= never + ROUNDING).all()
    assert (usual[..., 0] < never[..., 0]).all()


def test_cleanings_that_always_fail_leave_the_cost_of_never_acting():
    never = least(case(prices={RELAY: 1e9}))

    assert least(case(prices=PRICES), fails=1.0) == pytest.approx(never)


def test_cleanings_that_fail_in_part_cost_more_on_a_worn_surface():
    costs = [least(case(prices=PRICES), fails=share)[0, 0, 0] for share in (0.0, 0.3, 0.6, 1.0)]

    assert costs == sorted(costs)
    assert costs[0] < costs[-1]


# ---- The coming year -----------------------------------------------------------------------------


def asked(x, below=4000.0, prices=PRICES, level=0, levels=(1.0,), since=0.2, one=None, **changes):
    found = one or known((x,))
    c = case(prices=prices, below=below, **changes)
    table = solve(found, c, below=np.array(levels)[:, None] * below, how=SMALL)
    return in_april(found, c, table, ALL_YEAR, since, level)


def in_april(one, c, table, workable, since=0.2, level=0):
    savings = as_the_table_says(one, c, table, 4, level)
    return coming_year(one, c, table, workable, month=4, since_test_yr=since, savings=savings, level=level)


@pytest.mark.parametrize("x", [8.5, 9.5, 11.0])
def test_a_surface_far_above_its_limit_is_left_alone(x):
    year = asked(x, one=known((x,), new=x))

    assert year.cleaning is None
    assert year.test_months is None
    assert year.today == ()


def test_where_time_below_is_worth_nothing_not_even_the_worst_surface_is_cleaned():
    year = asked(3.0, below=0.0)

    assert year.cleaning is None
    assert all(saves < 0.0 for _, saves in year.today)


def test_a_higher_price_of_time_below_never_gives_a_later_cleaning():
    factors = (0.1, 0.5, 1.0, 2.0, 5.0, 20.0)

    months = []
    for level in range(len(factors)):
        acting = asked(6.6, level=level, levels=factors).cleaning
        months.append(99 if acting is None else acting.months)

    assert months == sorted(months, reverse=True)
    assert months[0] > months[-1], "else the prices tried tell nothing"


def test_a_lower_rate_never_gives_a_later_cleaning():
    found = [asked(x).cleaning for x in (8.0, 7.0, 6.5, 6.0, 5.0)]

    months = [99 if acting is None else acting.months for acting in found]

    assert months == sorted(months, reverse=True)
    assert (months[0], months[-1]) == (99, 0)


def test_the_best_of_the_methods_stands_first_and_what_is_not_offered_stands_nowhere():
    year = asked(5.0, prices=PRICES | {RELAY: 9000.0})

    saved = [saves for _, saves in year.cleaning.rivals]
    assert saved == sorted(saved, reverse=True)
    assert {method.value for method, _ in year.cleaning.rivals} == {"vacuum", "joint_refill", "relay"}


def test_a_closed_month_takes_its_method_out_and_leaves_the_others_as_they_were():
    cheap = known((5.0,))
    c = case(prices=PRICES)
    table = solve(cheap, c, how=SMALL)
    usual = dict(in_april(cheap, c, table, ALL_YEAR).cleaning.rivals)

    shut = ALL_YEAR.copy()
    shut[REFILL, 3] = False
    closed = dict(in_april(cheap, c, table, shut).cleaning.rivals)

    assert {m.value for m in usual} - {m.value for m in closed} == {"joint_refill"}
    assert all(closed[m] == usual[m] for m in closed)


def test_the_same_question_has_the_same_answer():
    assert asked(6.3) == asked(6.3)


def test_an_unknown_test_asks_for_one_and_a_fresh_one_does_not():
    never, fresh = asked(6.3, since=np.inf), asked(6.3, since=0.0)

    assert never.test_months == 0
    assert fresh.test_months != 0


def test_a_case_with_other_prices_of_time_below_keeps_all_else():
    c = case(n=2, prices=PRICES)

    other = c.valued(np.array([1.0, 2.0]))

    assert other.prices == replace(c.prices, below=other.prices.below)
    assert other.prices.below.tolist() == [1.0, 2.0]
    assert other.log_limit is c.log_limit


def test_columns_of_a_case_may_be_repeated_and_turned():
    c = case(n=3, prices=PRICES).valued(np.array([1.0, 2.0, 3.0]))

    turned = c.columns(np.array([2, 0, 0, 1]))

    assert turned.prices.below.tolist() == [3.0, 1.0, 1.0, 2.0]
    assert turned.workable.shape == (N_METHODS, 4, 4)
    assert turned.prices.cleaning[VACUUM].tolist() == [450.0] * 4


def test_the_wait_for_the_next_season_counts_from_the_step_after():
    c = case(prices=PRICES)
    c.workable[VACUUM, :, 0] = (False, True, False, False)
    c.workable[REFILL, :, 0] = False

    assert c.gap_yr[VACUUM, :, 0].tolist() == [0.25, 1.0, 0.75, 0.5]
    assert c.gap_yr[REFILL, :, 0].tolist() == [1.0] * 4
