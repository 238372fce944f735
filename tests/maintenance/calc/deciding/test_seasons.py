"""In which months a way of cleaning can be begun and brought to its end."""

import numpy as np
import pytest

from core.calc.paving import CleaningMethod
from maintenance.calc.deciding.seasons import steps_of, unfrozen_months, workable_months
from maintenance.calc.windows import Climate, job_days

NORTH = Climate(frost_months=(12, 1, 2), leaf_fall_months=(10, 11), trees=True)


def months(mask):
    return [int(i) + 1 for i in np.flatnonzero(mask)]


@pytest.mark.parametrize(("hours", "days"), [(0.5, 1), (8, 1), (9, 2), (40, 5), (41, 8), (235, 40)])
def test_a_job_takes_its_working_days_and_the_weekends_between(hours, days):
    assert job_days(hours) == days


@pytest.mark.parametrize(
    ("method", "hours", "free"),
    [
        (CleaningMethod.VACUUM, 4, [3, 4, 5, 6, 7, 8, 9]),
        (CleaningMethod.RELAY, 235, [3, 4, 5, 6, 7, 8]),  # eight weeks begun in September end under leaves
        (CleaningMethod.REJOINT_RESIN, 30, [4, 5, 6, 7, 8, 9]),  # not in the month beside frost
    ],
)
def test_work_is_begun_where_it_can_be_ended(method, hours, free):
    assert months(workable_months(method, NORTH, hours)) == free


def test_without_trees_leaf_fall_closes_nothing():
    free = workable_months(CleaningMethod.VACUUM, Climate((12, 1, 2), (10, 11)), 4)

    assert months(free) == [3, 4, 5, 6, 7, 8, 9, 10, 11]


def test_where_nothing_is_closed_every_month_will_do_for_any_job():
    assert workable_months(CleaningMethod.RELAY, Climate(), 9000).all()


def test_a_job_longer_than_the_season_begins_with_it():
    assert months(workable_months(CleaningMethod.RELAY, NORTH, 5000)) == [3]


def test_a_step_is_open_where_one_of_its_months_is():
    free = workable_months(CleaningMethod.VACUUM, NORTH, 4)

    assert list(steps_of(free, 4)) == [True, True, True, False]
    assert list(steps_of(free, 12)) == list(free)
    with pytest.raises(ValueError, match="got 5"):
        steps_of(free, 5)


def test_tests_wait_for_the_thaw_except_where_it_never_comes():
    assert months(unfrozen_months((12, 1, 2))) == [3, 4, 5, 6, 7, 8, 9, 10, 11]
    assert unfrozen_months(tuple(range(1, 13))).all()
