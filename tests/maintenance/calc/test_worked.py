"""The arithmetic behind advice, against figures worked out by hand."""

from math import e, log

import pytest

from maintenance.calc.worked import Sight

# As new e² times the limit, e times it now; a cleaning gives half a unit of ln back; an eighth is lost a year.
SIGHT = Sight(
    new_mm_h=100.0 * e**2,
    now_mm_h=100.0 * e,
    limit_mm_h=100.0,
    area_m2=500.0,
    worth_m2_yr=4.0,
    loss_yr=0.125,
    chance_below=0.1,
    price=400.0,
    after_mm_h=100.0 * e**1.5,
)


def test_time_below_counts_by_area_and_chance():
    assert SIGHT.year_below == 2000.0
    assert SIGHT.quarter_at_risk == 50.0


def test_the_share_restored_is_of_what_was_lost():
    assert SIGHT.share_restored == pytest.approx(0.5)


def test_holding_costs_price_times_decline_over_share_and_headroom():
    assert SIGHT.holding_a_year == pytest.approx(400.0 * log(8 / 7) / (0.5 * 2.0))


@pytest.mark.parametrize(
    "changes",
    [{"after_mm_h": 200.0}, {"now_mm_h": 100.0 * e**2}, {"limit_mm_h": 1000.0}],
    ids=["gives nothing", "nothing lost", "never above its limit"],
)
def test_what_has_no_answer_gives_none(changes):
    sight = Sight(**{name: getattr(SIGHT, name) for name in Sight.__slots__} | changes)

    assert sight.holding_a_year is None
