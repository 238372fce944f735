"""The periodic work of a server without a broker."""

from datetime import UTC, datetime, timedelta

import pytest

from maintenance.services import fits, forecasts
from operations.services.scheduler import Schedule

EVENING = datetime(2026, 3, 1, 22, 0, tzinfo=UTC)


class Clock:
    def __init__(self, at):
        self.at = at

    def __call__(self):
        return self.at


@pytest.fixture
def asked(monkeypatch):
    """Names of what was asked for, in order."""
    names = []
    for module, name in (
        (forecasts, "enqueue_stale"),
        (forecasts, "reset_and_enqueue"),
        (fits, "requeue_orphaned_fits"),
        (fits, "request_all_fits"),
    ):
        monkeypatch.setattr(module, name, lambda name=name: names.append(name))
    return names


def test_every_turn_sends_again_what_was_left(asked):
    done = Schedule(Clock(EVENING)).turn()

    assert done == ["sweep"]
    assert asked == ["enqueue_stale", "requeue_orphaned_fits"]


def test_the_nights_work_starts_the_day_and_is_done_once(asked):
    clock = Clock(EVENING)
    schedule = Schedule(clock)
    clock.at = EVENING + timedelta(hours=5)

    turns = [schedule.turn(), schedule.turn()]

    assert turns == [["sweep", "night"], ["sweep"]]
    assert asked.count("reset_and_enqueue") == asked.count("request_all_fits") == 1


def test_the_night_waits_for_its_hour(asked):
    clock = Clock(EVENING)
    schedule = Schedule(clock)
    clock.at = EVENING + timedelta(hours=3)

    schedule.turn()

    assert "request_all_fits" not in asked
