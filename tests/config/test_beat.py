"""Celery beat over a clock that somebody puts right."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from celery import Celery
from celery.beat import PersistentScheduler, Scheduler
from celery.schedules import schedule

from config.beat import HeedingScheduler
from config.celery import app

EVENING = datetime(2026, 3, 1, 22, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def sent(monkeypatch):
    """The names of what was sent, instead of sending it."""
    seen = []
    monkeypatch.setattr(Scheduler, "apply_entry", lambda self, entry, producer=None: seen.append(entry.name))
    return seen


@pytest.fixture
def clocked(tmp_path):
    """An app with two entries, and where its clock keeps what it ran."""
    app = Celery("clocked", broker="memory://", set_as_current=False)
    app.conf.beat_schedule = {
        name: {"task": "core.tasks.sweep", "schedule": schedule(minutes * MINUTE, app=app)}
        for name, minutes in (("often", 1), ("seldom", 20))
    }
    return {"app": app, "schedule_filename": str(tmp_path / "schedule")}


def sent_after_the_clock_went_back(kind, clocked, sent):
    """The names of what is sent in the half an hour after it."""
    with time_machine.travel(EVENING, tick=False) as clock:
        beat = kind(**clocked)
        for _ in range(5):
            follow(beat, clock)
        clock.shift(timedelta(hours=-3))
        sent.clear()
        for _ in range(30):
            follow(beat, clock)
        beat.close()
    return set(sent)


def follow(beat, clock):
    """A minute of the clock, with more turns than there are entries."""
    for _ in range(5):
        beat.tick()
    clock.shift(MINUTE)


def test_it_goes_on_with_every_entry(clocked, sent):
    assert sent_after_the_clock_went_back(HeedingScheduler, clocked, sent) == {"often", "seldom"}


def test_celerys_own_would_be_silent(clocked, sent):
    assert sent_after_the_clock_went_back(PersistentScheduler, clocked, sent) == set()


def test_it_is_the_one_that_is_started():
    assert app.conf.beat_scheduler == f"{HeedingScheduler.__module__}:{HeedingScheduler.__qualname__}"
