"""The periodic work of a server without a broker."""

from datetime import UTC, datetime, timedelta

import pytest

from maintenance.schedule import Schedule
from maintenance.services import fleet, forecasts

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
        (forecasts, "ask_all_stale"),
        (forecasts, "start_day"),
        (fleet, "ask_left_fits"),
        (fleet, "ask_all_fits"),
    ):
        monkeypatch.setattr(module, name, lambda name=name: names.append(name))
    return names


def test_every_turn_sends_again_what_was_left(asked):
    done = Schedule(Clock(EVENING)).turn()

    assert done == ["sweep"]
    assert asked == ["ask_all_stale", "ask_left_fits"]


def test_the_nights_work_starts_the_day_and_is_done_once(asked):
    clock = Clock(EVENING)
    schedule = Schedule(clock)
    clock.at = EVENING + timedelta(hours=5)

    turns = [schedule.turn(), schedule.turn()]

    assert turns == [["sweep", "night"], ["sweep"]]
    assert asked.count("start_day") == asked.count("ask_all_fits") == 1


def test_the_night_waits_for_its_hour(asked):
    clock = Clock(EVENING)
    schedule = Schedule(clock)
    clock.at = EVENING + timedelta(hours=3)

    schedule.turn()

    assert "ask_all_fits" not in asked
