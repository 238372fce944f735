"""Programmes carried out on true surfaces."""

import numpy as np
import pytest

from clogging.api import CLEANING_METHODS, Drawn
from core.calc.paving import CleaningMethod
from maintenance.calc.deciding.problem import DISCOUNT_YR
from maintenance.calc.deciding.programmes import NOTHING, Programme, is_sweeping_year, orders, sweep_steps
from maintenance.calc.deciding.simulate import Guide, ModelWorld, simulate, totals
from maintenance.calc.deciding.table import solve
from tests.maintenance.calc.deciding.setting import REFILL, VACUUM, case, known

FUTURES = 60
SWEPT = Programme(1, CleaningMethod.VACUUM)


def run(programmes, x=6.2, years=10, seed=4, since=1.0, level=4000.0, **changes):
    """Programmes side by side on the same futures of one surface: outcome, with (programme, future) flattened."""
    n = len(programmes) * FUTURES
    zero = np.zeros(n, dtype=int)
    one, c = known((x,)), case(below=level, **changes)
    rng = np.random.default_rng(seed)
    scatter = np.linalg.cholesky(one.cov[..., 0]) @ rng.normal(size=(3, FUTURES))
    state = np.tile(one.mean + scatter, (1, len(programmes)))
    world = ModelWorld(Drawn(state, one.traits.columns(zero)), seed, alike=len(programmes))
    given = orders([p for p in programmes for _ in range(FUTURES)], np.ones(n), CLEANING_METHODS)
    guide = Guide(solve(one, c), zero, zero)
    columns = one.columns(zero), c.columns(zero)
    return simulate(world, *columns, given, guide, since_test_yr=np.full(n, since), years=years)


def split(values):
    return values.reshape(*values.shape[:-1], -1, FUTURES)


def test_nothing_costs_nothing_and_ends_below_the_limit():
    done = run([NOTHING], x=6.0)

    assert done.works.sum() == done.tests.sum() == done.cleanings.sum() == 0
    assert done.below_yr[-1].mean() > 0.9
    assert np.isinf(done.first_yr).all()


def test_a_calendar_sweeps_as_often_as_it_says_and_pays_for_each():
    done = run([SWEPT, Programme(0.5, CleaningMethod.VACUUM), Programme(3, CleaningMethod.VACUUM)])

    assert split(done.cleanings)[VACUUM].tolist() == [[10] * FUTURES, [5] * FUTURES, [30] * FUTURES]
    assert done.works.sum(0) == pytest.approx(450.0 * done.cleanings[VACUUM])


def test_a_calendar_keeps_to_the_season():
    workable = np.array([[True, True], [True, False], [True, False], [False, False]])

    assert sweep_steps(np.array([2.0, 2.0]), workable).tolist() == [
        [False, True],
        [True, False],
        [True, False],
        [False, False],
    ]


def test_half_a_sweeping_a_year_is_one_every_second():
    assert [bool(is_sweeping_year(np.array([0.5]), year)[0]) for year in range(4)] == [
        False,
        True,
        False,
        True,
    ]


def test_a_stronger_method_is_used_once_the_chance_reaches_its_level():
    level = Programme(level=0.3, restore_with=CleaningMethod.JOINT_REFILL)

    done = run([level, NOTHING], x=5.8)

    assert set(done.first[:FUTURES]) == {REFILL}
    assert (done.first[FUTURES:] == -1).all()


def test_tests_come_as_often_as_the_calendar_says():
    done = run([Programme(test_every_yr=2.0), Programme(test_every_yr=1.0)], since=2.0, years=10)

    assert split(done.rounds).tolist() == [[5] * FUTURES, [10] * FUTURES]
    assert done.tests.sum(0) == pytest.approx(150.0 * done.rounds)


def test_the_rule_costs_less_in_all_than_nothing_and_than_calendars():
    rule = Programme(worth_m2_yr=4.0, tests_when_due=True)
    done = run([rule, NOTHING, SWEPT, Programme(2, CleaningMethod.VACUUM)], years=15)

    cost = split(totals(done, np.full(4 * FUTURES, 4000.0), 15)).mean(-1)

    assert cost[0] < cost[1:].min()


def test_stopping_the_source_first_saves_works_and_time_below():
    stopped, without = (Programme(worth_m2_yr=4.0, tests_when_due=True, stop_source=s) for s in (True, False))

    done = run([stopped, without], x=5.6)

    works, below = split(done.works.sum(0)).mean(-1), split(done.below_yr.sum(0)).mean(-1)
    assert works[0] < 0.7 * works[1]
    assert below[0] <= below[1]


def test_a_dear_restoration_waits_for_its_test():
    rule = Programme(worth_m2_yr=40.0)
    asked = run([rule], x=4.6, ask_first=3000.0, level=40_000.0, since=3.0, years=1)
    unasked = run([rule], x=4.6, level=40_000.0, since=3.0, years=1)

    assert unasked.rounds.sum() == 0
    assert (asked.rounds >= 1).all()
    assert asked.cleanings[REFILL].sum() > 0


def test_programmes_side_by_side_have_the_same_luck():
    twice = run([SWEPT, SWEPT])

    first, second = split(twice.below_yr).swapaxes(0, 1)
    assert np.array_equal(first, second)


def test_money_of_later_years_counts_for_less():
    done = run([SWEPT], years=2, level=0.0)

    total = totals(done, np.zeros(FUTURES), 2)

    assert total == pytest.approx(450.0 * ((1 + DISCOUNT_YR) ** -0.5 + (1 + DISCOUNT_YR) ** -1.5))
    assert (totals(done, np.zeros(FUTURES), 1) < total).all()


def test_a_programme_that_decides_needs_a_table():
    one = known((6.0,))
    given = orders([Programme(worth_m2_yr=4.0)], np.ones(1), CLEANING_METHODS)

    with pytest.raises(ValueError, match="decides by a table"):
        simulate(
            ModelWorld(Drawn(one.mean, one.traits), 1),
            one,
            case(),
            given,
            since_test_yr=np.ones(1),
            years=1,
        )
