"""What each method saves against waiting, on futures."""

import numpy as np
import pytest

from clogging.api import Drawn
from maintenance.calc.deciding.compare import OWN_LEVEL, YEARS, Surroundings, frontier_table
from maintenance.calc.deciding.problem import DISCOUNT_YR
from maintenance.calc.deciding.programmes import NOTHING, Programme
from maintenance.calc.deciding.rollout import Rollout
from maintenance.calc.deciding.rule import weigh
from tests.maintenance.calc.deciding.setting import REFILL, RELAY, VACUUM, case, known

AROUND = Surroundings(1000.0, 4.0, 0.3, 2, (0.0, 0.0), has_source=False, seed=8)
RULE = Programme(worth_m2_yr=4.0, tests_when_due=True)
METHODS = np.array([VACUUM, REFILL, RELAY])


def ahead(x, after=RULE, futures=100, sd=0.15, **changes):
    one, c = known((x,), sd=sd), case(**changes)
    rng = np.random.default_rng(3)
    state = one.mean + np.linalg.cholesky(one.cov[..., 0]) @ rng.normal(size=(3, futures))
    drawn = Drawn(state, one.traits.columns(np.zeros(futures, dtype=int)))
    around = AROUND._replace(worth_m2_yr=changes.get("below", 4000.0) / AROUND.area_m2)
    return Rollout(one, drawn, c, frontier_table(one, c), around, after, OWN_LEVEL)


def test_where_surfaces_are_known_well_the_futures_agree_with_the_table():
    found = ahead(5.5)
    zero = np.zeros(1, dtype=np.int64)

    told = weigh(found.known, found.case, found.table, (zero, zero + OWN_LEVEL), 2).gain[METHODS, 0]

    saved = found.savings(METHODS, 0)
    assert saved.argmax() == told.argmax() == 0
    assert 0.5 < saved[0] / told[0] < 2.0
    assert saved[2] == pytest.approx(told[2], rel=0.1)


def test_far_above_the_limit_a_method_saves_less_than_its_price():
    assert (ahead(8.3).savings(METHODS, 0) < 0).all()


def test_a_method_that_does_nothing_costs_its_price_in_the_year_it_is_used():
    found = ahead(8.3, NOTHING, below=0.0)
    found.known.traits.share[VACUUM] = 0.0

    for step, year in ((0, 0), (3, 0), (4, 1)):
        worth = -450.0 * (1 + DISCOUNT_YR) ** -(year + 0.5)
        assert found.savings(np.array([VACUUM]), step) == pytest.approx([worth])


def test_before_the_step_nothing_is_done_and_nothing_is_tested():
    found = ahead(5.5, Programme(sweeps_a_year=4.0, sweep_with=None, test_every_yr=0.25), below=0.0)

    early, late = (found.savings(np.array([VACUUM]), step)[0] for step in (0, 4 * YEARS - 1))

    assert early == pytest.approx(-450.0 * (1 + DISCOUNT_YR) ** -0.5)
    assert late == pytest.approx(-450.0 * (1 + DISCOUNT_YR) ** -(YEARS - 0.5))


def test_the_same_futures_give_the_same_savings_whatever_else_is_tried():
    found = ahead(5.5)

    assert found.savings(METHODS, 1)[0] == found.savings(METHODS[:1], 1)[0]
