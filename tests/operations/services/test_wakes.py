"""The pipe between whoever asks for work and whoever does it: quick, never in the way, and nothing is lost in it."""

import os
from threading import Thread
from time import monotonic

import pytest

from operations.services.wakes import open_pipe, wait_for_wake, wake

LONG_S = 60.0


@pytest.fixture
def pipe():
    ends = open_pipe()
    yield ends
    for end in ends:
        os.close(end)


def test_whoever_waits_is_woken_at_once(pipe):
    waker = Thread(target=wake, args=[pipe.wakes])
    begun = monotonic()
    waker.start()

    assert wait_for_wake(pipe.woken, LONG_S)
    assert monotonic() - begun < LONG_S / 2
    waker.join()


def test_a_wake_that_came_before_is_found(pipe):
    wake(pipe.wakes)

    assert wait_for_wake(pipe.woken, 0.0)


def test_many_wakes_are_one(pipe):
    for _ in range(1000):
        wake(pipe.wakes)

    assert [wait_for_wake(pipe.woken, 0.0), wait_for_wake(pipe.woken, 0.0)] == [True, False]


def test_nobody_waits_at_a_pipe_that_is_full(pipe):
    for _ in range(200_000):
        wake(pipe.wakes)

    assert wait_for_wake(pipe.woken, 0.0)


def test_without_a_wake_the_wait_ends_by_itself(pipe):
    assert not wait_for_wake(pipe.woken, 0.01)
    assert not wait_for_wake(None, 0.01)
