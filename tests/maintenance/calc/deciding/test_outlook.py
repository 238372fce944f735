"""The coming year of one surface, month by month."""

import numpy as np
import pytest

from core.calc.paving import CleaningMethod
from maintenance.calc.deciding.compare import FRONTIER, frontier_table
from maintenance.calc.deciding.outlook import coming_year
from tests.maintenance.calc.deciding.setting import N_METHODS, REFILL, VACUUM, as_the_table_says, case, known


def year(x, month=6, since=0.3, closed=(), level=2, savings=None, sd=0.15, **changes):
    one, c = known((x,), sd=sd), case(**changes)
    workable = np.ones((N_METHODS, 12), dtype=bool)
    workable[:, [m - 1 for m in closed]] = False
    table = frontier_table(one, c)
    savings = savings or as_the_table_says(one, c, table, month, level)
    return coming_year(
        one, c, table, workable, month=month, since_test_yr=since, savings=savings, level=level
    )


def test_what_pays_today_is_for_today_with_its_rivals_in_order():
    found = year(5.5)

    assert found.cleaning.months == 0
    assert found.cleaning.rivals[0][0] is CleaningMethod.VACUUM
    saved = [money for _, money in found.cleaning.rivals]
    assert saved == sorted(saved, reverse=True)
    assert saved[0] > 0


def test_what_pays_later_is_for_the_month_in_which_it_does():
    soon, later = year(5.95), year(6.1)

    assert 0 < soon.cleaning.months < later.cleaning.months <= 12


def test_far_above_the_limit_nothing_pays_within_the_year():
    found = year(8.4)

    assert (found.cleaning, found.test_months) == (None, None)
    assert found.today == ()


def test_a_closed_month_is_passed_over():
    assert year(5.5, month=12, closed=(12, 1, 2)).cleaning.months == 3


def test_the_chance_is_that_of_the_month_in_which_it_pays():
    today, later = year(5.5), year(6.0)

    assert today.cleaning.chance == pytest.approx(
        float(known((5.5,), sd=0.15).chance_below(np.log([250.0]))[0])
    )
    assert later.cleaning.chance < today.cleaning.chance


def test_an_old_test_is_asked_for_where_the_answer_is_near_and_a_fresh_one_is_not():
    assert year(6.5, since=1.1, sd=0.8).test_months == 0
    assert year(6.5, since=0.05, sd=0.8).test_months == 3


def test_a_restoration_that_wants_a_fresh_test_says_so():
    found = year(4.2, since=2.0, below=40_000.0, ask_first=3000.0)

    assert found.cleaning.wants_fresh_test
    assert not year(4.2, since=0.2, below=40_000.0, ask_first=3000.0).cleaning.wants_fresh_test


def test_more_care_acts_earlier():
    least, most = (year(6.3, level=level).cleaning for level in (0, len(FRONTIER) - 1))

    assert least is None or least.months > most.months


def test_the_futures_say_what_pays_and_a_quarter_is_tried_once():
    asked = []

    def savings(methods, step):
        asked.append(step)
        return np.where(methods == REFILL, 20.0, 10.0) if step == 2 else np.full(methods.size, -5.0)

    found = year(5.5, month=6, savings=savings)

    assert asked == [0, 1, 2]  # June is the last month of its quarter
    assert (found.cleaning.months, found.cleaning.rivals[0]) == (4, (CleaningMethod.JOINT_REFILL, 20.0))
    assert found.today == ()


def test_where_no_method_pays_on_the_futures_the_nearest_is_named_for_a_surface_that_is_likely_below():
    def savings(methods, step):
        return np.where(methods == VACUUM, -10.0, -20.0)

    below, above = year(5.0, savings=savings), year(6.3, savings=savings)

    assert below.cleaning is above.cleaning is None
    assert below.today[0] == (CleaningMethod.VACUUM, -10.0)
    assert above.today == ()
