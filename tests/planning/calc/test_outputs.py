"""What the hours that crews tell make of an output that was entered."""

from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.calc.outputs import ENTERED_COUNTS, FEWEST_JOBS, NEWEST_JOBS, Job, learnt_output
from planning.calc.work_orders import SETTING_UP_MIN, cleaning_min

HOUR = 60


def test_an_output_is_area_over_the_hours_without_setting_up():
    assert Job(area_m2=400.0, taken_min=2 * HOUR + SETTING_UP_MIN).output_m2_h == pytest.approx(200.0)


def test_a_job_shorter_than_setting_up_usually_takes_still_has_an_output():
    assert Job(area_m2=10.0, taken_min=8).output_m2_h == pytest.approx(60 * 10.0 / 2.0)


@pytest.mark.parametrize("jobs", range(FEWEST_JOBS))
def test_below_three_jobs_what_was_entered_holds(jobs):
    found = learnt_output(300.0, [Job(100.0, 200)] * jobs)

    assert (found.m2_h, found.jobs, found.low_m2_h) == (300.0, jobs, None)


def test_the_learnt_output_is_the_weighted_geometric_mean():
    """By hand: four times 300 and four times 100 meet at the root of 300 x 100."""
    jobs = [Job(100.0, HOUR + SETTING_UP_MIN)] * int(ENTERED_COUNTS)

    found = learnt_output(300.0, jobs)

    assert found.m2_h == pytest.approx((300.0 * 100.0) ** 0.5)
    assert (found.low_m2_h, found.high_m2_h) == (pytest.approx(100.0), pytest.approx(100.0))


def test_only_the_newest_jobs_count():
    new, old = Job(100.0, HOUR + SETTING_UP_MIN), Job(900.0, HOUR + SETTING_UP_MIN)

    found = learnt_output(100.0, [new] * NEWEST_JOBS + [old] * 500)

    assert (found.m2_h, found.jobs) == (pytest.approx(100.0), NEWEST_JOBS)


@given(
    entered=st.floats(1.0, 2_000.0),
    outputs=st.lists(st.floats(1.0, 2_000.0), min_size=FEWEST_JOBS, max_size=40),
)
def test_what_is_learnt_lies_between_the_jobs_and_what_was_entered(entered, outputs):
    jobs = [Job(output * 10, 10 * HOUR + SETTING_UP_MIN) for output in outputs]

    found = learnt_output(entered, jobs)

    own = exp(sum(log(o) for o in outputs[:NEWEST_JOBS]) / len(outputs[:NEWEST_JOBS]))
    low, high = sorted((entered, own))
    assert low * (1 - 1e-9) <= found.m2_h <= high * (1 + 1e-9)
    assert found.low_m2_h <= own * (1 + 1e-9)
    assert own * (1 - 1e-9) <= found.high_m2_h


def test_plan_and_hours_told_are_counted_alike():
    """A job that took what the plan counts teaches nothing new."""
    job = Job(600.0, cleaning_min(600.0, 150.0))

    assert learnt_output(150.0, [job] * 10).m2_h == pytest.approx(150.0, rel=0.01)
