"""Ways of caring for one surface, side by side."""

from dataclasses import replace

import numpy as np
import pytest

from clogging.api import Drawn
from core.calc.payload import from_payload, to_payload
from maintenance.calc.care_payload import CareComparison, CareKind
from maintenance.calc.deciding.compare import (
    FRONTIER,
    Surroundings,
    _suggested,
    acts_below_mm_h,
    candidates,
    compare,
    frontier_table,
    level_of_chosen,
)
from tests.maintenance.calc.deciding.setting import RELAY, VACUUM, case, known

AROUND = Surroundings(
    area_m2=1000.0,
    worth_m2_yr=4.0,
    since_test_yr=1.2,
    first_step=2,
    agreed=(1.0, 0.5),
    has_source=True,
    seed=8,
)


def compared(x=6.2, around=AROUND, futures=40, **changes):
    one, c = known((x,)), case(**changes)
    rng = np.random.default_rng(3)
    state = one.mean + np.linalg.cholesky(one.cov[..., 0]) @ rng.normal(size=(3, futures))
    drawn = Drawn(state, one.traits.columns(np.zeros(futures, dtype=int)))
    return compare(one, drawn, c, frontier_table(one, c), around)


@pytest.fixture(scope="module")
def found():
    return compared()


def test_what_is_compared_holds_nothing_the_rule_calendars_practice_and_the_source():
    kinds = [kind for kind, _ in candidates(case(), AROUND)]

    assert kinds == [
        CareKind.NOTHING,
        CareKind.ADVISED,
        CareKind.LESS,
        CareKind.LESS,
        CareKind.MORE,
        CareKind.MORE,
        CareKind.UNTESTED,
        CareKind.CALENDAR,
        CareKind.CALENDAR,
        CareKind.STRONGER,
        CareKind.AGREED,
        CareKind.SOURCE,
    ]


def test_without_a_sweeping_an_agreement_and_a_source_fewer_are_compared():
    around = AROUND._replace(agreed=(0.0, 0.0), has_source=False)

    kinds = {kind for kind, _ in candidates(case(prices={RELAY: 9000.0}), around)}

    assert kinds == {CareKind.NOTHING, CareKind.ADVISED, CareKind.LESS, CareKind.MORE, CareKind.UNTESTED}


def test_an_agreement_of_tests_alone_is_compared_where_no_sweeper_is_offered():
    around = AROUND._replace(agreed=(1.0, 0.5), has_source=False)

    agreed = [p for kind, p in candidates(case(prices={RELAY: 9000.0}), around) if kind is CareKind.AGREED]

    assert [(one.sweeps_a_year, one.test_every_yr) for one in agreed] == [(0.0, 2.0)]


def test_more_care_costs_more_and_leaves_less_time_below(found):
    along = [o for o in found.outcomes if o.kind in (CareKind.LESS, CareKind.ADVISED, CareKind.MORE)]
    along.sort(key=lambda o: o.programme.worth_m2_yr)

    cost, below = [o.cost_a_year.mean for o in along], [o.months_below for o in along]

    assert cost[0] < cost[2] < cost[4]
    assert below[0] > below[2] > below[4]


def test_the_suggested_programme_costs_least_in_all_and_its_rivals_are_named(found):
    rivals = (CareKind.NOTHING, CareKind.UNTESTED, CareKind.LESS, CareKind.ADVISED, CareKind.MORE)
    assert found.chosen.kind in rivals
    assert found.chosen.total_10 <= found.of(CareKind.ADVISED).total_10
    assert found.next_best is not found.chosen
    assert found.next_best.kind not in (CareKind.NOTHING, CareKind.SOURCE)


def test_more_care_is_suggested_only_where_it_is_clearly_cheaper_and_the_advice_decides_by_it(found):
    kinds = [CareKind.NOTHING, CareKind.ADVISED, CareKind.MORE, CareKind.CALENDAR]
    luck = np.array([-100.0, 100.0, -100.0, 100.0])  # standard error 57.7

    def suggested(saved):
        own = np.full(4, 1000.0)
        return _suggested(kinds, np.stack([2 * own, own, own - saved - luck, 0 * own]))

    assert kinds[suggested(100.0)] is CareKind.ADVISED
    assert kinds[suggested(120.0)] is CareKind.MORE
    more = next(i for i, o in enumerate(found.outcomes) if o.kind is CareKind.MORE)
    assert level_of_chosen(replace(found, suggested=more)) == FRONTIER.index(2.5)


@pytest.mark.parametrize("kind", [CareKind.NOTHING, CareKind.UNTESTED])
def test_doing_less_is_suggested_where_it_comes_to_the_same(kind):
    kinds, cost = [CareKind.ADVISED, kind], np.array([[500.0, 700.0], [500.0, 700.0]])

    assert _suggested(kinds, cost) == 1
    assert _suggested(kinds, cost + np.array([[0.0], [1.0]])) == 0


def test_one_future_alone_does_not_call_for_more_care():
    kinds, cost = [CareKind.ADVISED, CareKind.MORE], np.array([[500.0], [100.0]])

    assert _suggested(kinds, cost) == 0


def test_nothing_costs_nothing_and_is_mostly_below(found):
    nothing = found.of(CareKind.NOTHING)

    assert (nothing.cost_a_year.mean, nothing.uses, nothing.first) == (0.0, (), None)
    assert nothing.months_below > 6.0
    assert nothing.share_within == pytest.approx(1.0 - nothing.months_below / 12.0, abs=1e-3)


def test_money_and_range_hold_together(found):
    for outcome in found.outcomes:
        cost = outcome.cost_a_year
        assert cost.lo80 <= cost.mean <= max(cost.hi80, cost.mean)
        assert np.mean([year.cost.mean for year in outcome.by_year]) == pytest.approx(cost.mean, abs=0.02)
        assert outcome.spent_10 <= outcome.total_10 <= outcome.total_20


def test_the_source_is_worth_what_it_saves(found):
    advised, stopped = found.of(CareKind.ADVISED), found.of(CareKind.SOURCE)

    assert found.source_saves == pytest.approx(advised.total_20 - stopped.total_20)
    assert found.source_saves > 0


def test_tests_pay_where_the_rate_is_in_doubt_and_not_where_it_cannot_matter():
    unsure = compared(x=6.2, test=20.0)
    idle = compared(x=8.4, test=400.0, below=0.0, around=AROUND._replace(worth_m2_yr=0.0))

    assert unsure.test_saves > 0
    assert idle.chosen.kind in (CareKind.NOTHING, CareKind.UNTESTED)


def test_where_time_below_is_worth_nothing_nothing_is_done():
    idle = compared(x=5.0, below=0.0, around=AROUND._replace(worth_m2_yr=0.0))

    assert idle.of(CareKind.ADVISED).uses == ()
    assert idle.acts_below_mm_h is None


def test_acting_pays_from_a_rate_above_the_limit_on(found):
    one = known((6.2,))

    at = found.acts_below_mm_h

    assert 250.0 < at < 1500.0
    dearer = case(prices={VACUUM: 2500.0})
    assert acts_below_mm_h(one, dearer, frontier_table(one, dearer), 2) < at


def test_a_comparison_is_stored_and_read_back(found):
    assert from_payload(CareComparison, to_payload(found)) == found
