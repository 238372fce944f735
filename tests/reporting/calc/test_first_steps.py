"""The way of a new firm to its first forecast."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reporting.calc.first_steps import OPTIONAL, Progress, StepKey, count_words

NEEDED = [step for step in StepKey if step not in OPTIONAL]


def test_an_empty_firm_begins_with_the_owner():
    progress = Progress(frozenset())

    assert progress.next is StepKey.OWNER
    assert not progress.has_forecast


@pytest.mark.parametrize("n", range(len(NEEDED)))
def test_what_others_rest_on_comes_before_what_can_wait(n):
    assert Progress(frozenset(NEEDED[:n])).next is NEEDED[n]


def test_what_could_wait_comes_at_the_end():
    assert Progress(frozenset(NEEDED)).next is StepKey.BUILD_UP
    assert Progress(frozenset(StepKey) - {StepKey.PEOPLE}).next is StepKey.PEOPLE
    assert Progress(frozenset(StepKey)).next is None


@given(st.frozensets(st.sampled_from(list(StepKey))))
def test_the_next_step_is_never_one_that_is_done(done):
    progress = Progress(done)

    assert progress.next not in done
    assert (progress.next is None) == (done == frozenset(StepKey))


def test_they_are_counted():
    assert count_words(frozenset()) == "0 of 8 done"
    assert count_words(frozenset(StepKey)) == "8 of 8 done"
