"""Programmes as orders, and what must hold of every comparison of them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clogging.api import CLEANING_METHODS, Drawn
from core.calc.paving import CleaningMethod
from maintenance.calc.care_payload import CareKind
from maintenance.calc.deciding.compare import FRONTIER, Surroundings, compare, frontier_table, level_of_chosen
from maintenance.calc.deciding.programmes import NOTHING, Programme, is_sweeping_year, orders, sweep_steps
from maintenance.calc.deciding.seasons import steps_of, workable_months
from maintenance.calc.deciding.simulate import ModelWorld, simulate, totals
from maintenance.calc.windows import Climate
from tests.maintenance.calc.deciding.setting import RELAY, VACUUM, case, known

AROUND = Surroundings(1000.0, 4.0, 1.2, 1, (0.5, 1.0), True, 21)
ALONG = (CareKind.LESS, CareKind.ADVISED, CareKind.MORE)
SEASONS = st.lists(st.booleans(), min_size=4, max_size=4)


def compared(x=6.2, around=AROUND, futures=24, **changes):
    one, c = known((x,)), case(**changes)
    rng = np.random.default_rng(7)
    state = one.mean + np.linalg.cholesky(one.cov[..., 0]) @ rng.normal(size=(3, futures))
    drawn = Drawn(state, one.traits.columns(np.zeros(futures, dtype=int)))
    return compare(one, drawn, c, frontier_table(one, c), around)


@pytest.fixture(scope="module")
def found():
    return compared()


# ---- Calendars -----------------------------------------------------------------------------------


@given(per_year=st.floats(0.0, 8.0), open_=SEASONS)
def test_a_calendar_has_its_sweepings_in_open_steps_and_no_more_than_there_are(per_year, open_):
    workable = np.array(open_)[:, None]

    steps = sweep_steps(np.array([per_year]), workable)

    assert steps.sum() == min(math.ceil(per_year), sum(open_))
    assert not (steps & ~workable).any()


@given(share=st.integers(1, 12), years=st.integers(1, 60))
def test_a_sweeping_every_few_years_keeps_to_its_share(share, years):
    done = sum(bool(is_sweeping_year(np.array([1.0 / share]), year)[0]) for year in range(years))

    assert done == years // share


@given(per_year=st.floats(1.0, 12.0), year=st.integers(0, 40))
def test_a_calendar_of_one_a_year_or_more_sweeps_every_year(per_year, year):
    assert is_sweeping_year(np.array([per_year]), year).all()


def test_a_calendar_of_none_sweeps_in_no_year():
    assert not any(is_sweeping_year(np.array([0.0]), year).any() for year in range(50))


def test_orders_say_in_arrays_what_the_programmes_say():
    swept = Programme(2.0, CleaningMethod.VACUUM, 0.2, CleaningMethod.RELAY, test_every_yr=2.0)
    rule = Programme(worth_m2_yr=4.0, tests_when_due=True, stop_source=True)

    given_ = orders([NOTHING, swept, rule], np.array([10.0, 20.0, 30.0]), CLEANING_METHODS)

    assert given_.sweep_with.tolist() == [-1, VACUUM, -1]
    assert given_.restore_with.tolist() == [-1, RELAY, -1]
    assert given_.level.tolist() == [np.inf, 0.2, np.inf]
    assert given_.test_every_yr.tolist() == [np.inf, 2.0, np.inf]
    assert given_.decides.tolist() == [False, False, True]
    assert given_.worth.tolist() == [0.0, 0.0, 120.0]
    assert given_.tests_when_due.tolist() == given_.stop_source.tolist() == [False, False, True]


def test_a_rule_that_values_time_below_at_nothing_still_decides():
    (decides,) = orders([Programme(worth_m2_yr=0.0)], np.ones(1), CLEANING_METHODS).decides

    assert decides


@given(
    frost=st.sets(st.integers(1, 12), max_size=6),
    leaves=st.sets(st.integers(1, 12), max_size=3),
    hours=st.floats(0.5, 400.0),
    method=st.sampled_from(CleaningMethod),
)
def test_a_longer_job_never_has_more_months_to_begin_in_while_it_fits_a_season(frost, leaves, hours, method):
    climate = Climate(tuple(frost), tuple(leaves), trees=True)
    short, long_ = (workable_months(method, climate, h) for h in (0.5, hours))

    assert not (long_ & ~short).any()
    assert long_.any() == short.any()


@given(months=st.lists(st.booleans(), min_size=12, max_size=12), steps=st.sampled_from([1, 2, 3, 4, 6, 12]))
def test_a_year_with_an_open_month_has_an_open_step_however_it_is_cut(months, steps):
    cut = steps_of(np.array(months), steps)

    assert cut.size == steps
    assert cut.any() == any(months)
    assert cut.sum() <= sum(months)


# ---- Comparisons ---------------------------------------------------------------------------------


def test_the_same_seed_gives_the_same_answer_and_another_seed_another():
    again, other = compared(), compared(around=AROUND._replace(seed=22))

    assert compared() == again
    assert other.of(CareKind.ADVISED) != again.of(CareKind.ADVISED)


def test_what_is_spent_by_year_is_what_is_spent_in_all_where_nothing_is_discounted():
    n, years = 30, 6
    one, c, zero = known((6.0,)), case(), np.zeros(n, dtype=int)
    state = one.mean + 0.2 * np.random.default_rng(2).normal(size=(3, n))
    world = ModelWorld(Drawn(state, one.traits.columns(zero)), 5)
    swept = Programme(2.0, CleaningMethod.VACUUM, test_every_yr=1.0)
    given_ = orders([swept] * n, np.ones(n), CLEANING_METHODS)

    done = simulate(
        world, one.columns(zero), c.columns(zero), given_, since_test_yr=np.full(n, np.inf), years=years
    )

    paid = 450.0 * done.cleanings[VACUUM] + 150.0 * done.rounds
    assert totals(done, np.zeros(n), years, discount=0.0) == pytest.approx(paid)
    with_time = totals(done, np.full(n, 100.0), years, discount=0.0)
    assert with_time == pytest.approx(paid + 100.0 * done.below_yr.sum(0))
    assert (totals(done, np.zeros(n), years) < paid).all()


def test_the_years_of_a_programme_add_up_to_its_cost_and_to_its_months(found):
    for outcome in found.outcomes:
        assert len(outcome.by_year) == 10
        spent = sum(year.cost.mean for year in outcome.by_year)
        assert spent == pytest.approx(10 * outcome.cost_a_year.mean, abs=0.2)
        months = sum(year.months_below for year in outcome.by_year)
        assert months == pytest.approx(10 * outcome.months_below, abs=0.2)


def test_shares_chances_and_months_stay_within_what_they_can_be(found):
    for outcome in found.outcomes:
        assert 0.0 <= outcome.months_below <= 12.0
        assert 0.0 <= outcome.chance_within <= 1.0
        assert outcome.share_within == pytest.approx(1.0 - outcome.months_below / 12.0, abs=1e-3)
        assert 0.0 <= outcome.spent_10 <= outcome.spent_20 <= outcome.total_20
        assert outcome.spent_10 <= 10 * outcome.cost_a_year.mean + 0.1


def test_time_below_is_in_the_total_at_its_price_and_no_other_money(found):
    for outcome in found.outcomes:
        most = 4000.0 * outcome.months_below / 12.0 * 10
        assert 0.0 <= outcome.total_10 - outcome.spent_10 <= most + 0.1


def test_ranges_are_in_order_and_lie_about_their_mean_where_no_year_stands_out(found):
    for outcome in found.outcomes:
        cost = outcome.cost_a_year
        assert 0.0 <= cost.lo80 <= cost.hi80
        assert cost.lo80 <= cost.mean
    calendar = found.of(CareKind.CALENDAR).cost_a_year
    assert (calendar.lo80, calendar.mean, calendar.hi80) == (450.0, 450.0, 450.0)


def test_a_higher_price_of_time_below_never_gives_less_time_within():
    worths = [0.5, 2.0, 8.0, 32.0]

    within = [
        compared(around=AROUND._replace(worth_m2_yr=worth), below=1000.0 * worth)
        .of(CareKind.ADVISED)
        .months_below
        for worth in worths
    ]

    assert within == sorted(within, reverse=True)
    assert within[0] > within[-1]


def test_along_the_frontier_each_step_up_in_worth_is_named_more_and_each_down_less(found):
    worth = {kind: [] for kind in ALONG}
    for outcome in found.outcomes:
        if outcome.kind in worth:
            worth[outcome.kind].append(outcome.programme.worth_m2_yr)

    assert worth[CareKind.ADVISED] == [4.0]
    assert worth[CareKind.LESS] == pytest.approx([0.4, 1.6])
    assert worth[CareKind.MORE] == pytest.approx([10.0, 32.0])


def test_the_advice_follows_the_price_of_the_programme_that_is_suggested(found):
    worth = found.chosen.programme.worth_m2_yr

    level = level_of_chosen(found)

    assert FRONTIER[level] * 4.0 == pytest.approx(worth if worth is not None else 4.0)


def test_an_agreement_of_tests_alone_is_carried_out_as_tests_alone():
    found = compared(around=AROUND._replace(agreed=(0.0, 0.5)), futures=6)

    agreed = found.of(CareKind.AGREED)
    assert agreed.programme == Programme(test_every_yr=2.0)
    assert agreed.uses == ()
    assert agreed.tests_a_year == pytest.approx(0.5, abs=0.05)


def test_a_cheaper_sweeping_is_used_no_less_often():
    often = []
    for price in (100.0, 450.0, 2000.0):
        advised = compared(prices={VACUUM: price}).of(CareKind.ADVISED)
        often.append(sum(use.a_year for use in advised.uses))

    assert often == sorted(often, reverse=True)
    assert often[0] > often[-1]


def test_a_method_out_of_season_all_year_is_in_no_programme():
    one, c = known((6.0,)), case()
    c.workable[RELAY] = False
    state = np.repeat(one.mean, 6, axis=1)
    drawn = Drawn(state, one.traits.columns(np.zeros(6, dtype=int)))

    found = compare(one, drawn, c, frontier_table(one, c), AROUND)

    used = {use.method for outcome in found.outcomes for use in outcome.uses}
    assert CleaningMethod.RELAY not in used
    assert found.of(CareKind.STRONGER).programme.restore_with is CleaningMethod.JOINT_REFILL
