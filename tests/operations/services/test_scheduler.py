"""The periodic work of a server without a broker: what is due, in which order, and what happens when it fails."""

import os
from datetime import UTC, datetime, time, timedelta

import pytest
import time_machine
from django.db import OperationalError
from django.utils.timezone import now

from operations.calc.timetable import TIMETABLE, Entry
from operations.services import scheduler as scheduling
from operations.services.scheduler import AGAIN_AFTER, Scheduler, run_schedule, run_task

EVENING = datetime(2026, 3, 1, 22, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
NIGHTLY = Entry("night", "night work", at=time(2, 30))
OFTEN = Entry("often", "often work", every=5 * MINUTE)


class Clock:
    def __init__(self, at):
        self.at = at

    def __call__(self):
        return self.at


@pytest.fixture
def clock():
    return Clock(EVENING)


@pytest.fixture
def done():
    return []


@pytest.fixture
def scheduler(clock, done):
    return Scheduler(done.append, clock, (NIGHTLY, OFTEN))


def test_at_the_start_everything_is_done_whose_time_has_come_today(scheduler, done):
    assert scheduler.turn() == ["night", "often"]
    assert done == ["night work", "often work"]


def test_a_start_before_the_hour_of_the_night_waits_for_it(done):
    clock = Clock(datetime(2026, 3, 1, 2, 29, tzinfo=UTC))
    scheduler = Scheduler(done.append, clock, (NIGHTLY, OFTEN))

    first = scheduler.turn()
    clock.at += MINUTE

    assert (first, scheduler.turn()) == (["often"], ["night"])


def test_what_is_due_is_done_once_and_again_when_it_is_due_again(scheduler, clock):
    scheduler.turn()

    turns = []
    for _ in range(6):
        turns.append(scheduler.turn())
        clock.at += MINUTE

    assert turns == [[], [], [], [], [], ["often"]]


def test_a_day_has_one_night(scheduler, clock, done):
    for _ in range(24 * 12):
        scheduler.turn()
        clock.at += 5 * MINUTE

    assert done.count("night work") == 2  # at the start, and at half past two
    assert done.count("often work") == 24 * 12


def test_after_the_clock_was_put_back_nothing_waits_until_it_has_come_again_to_where_it_was(
    scheduler, clock, caplog
):
    scheduler.turn()
    clock.at -= timedelta(hours=3)
    first = scheduler.turn()
    clock.at += 5 * MINUTE

    assert (first, scheduler.turn()) == ([], ["often"])
    assert "The clock went back by 3:00:00." in caplog.text


def test_a_night_that_comes_again_by_a_clock_that_was_put_back_is_begun_again_which_does_no_harm(done):
    clock = Clock(datetime(2026, 3, 1, 3, 0, tzinfo=UTC))
    scheduler = Scheduler(done.append, clock, (NIGHTLY,))
    scheduler.turn()
    clock.at -= timedelta(hours=1)

    turns = []
    for _ in range(3):
        turns.append(scheduler.turn())
        clock.at += 30 * MINUTE

    assert turns == [[], ["night"], []]


def test_what_fails_is_tried_again_soon_and_keeps_nothing_else_from_being_done(clock, caplog):
    tries = []

    def fail_first(task):
        tries.append(task)
        if tries == ["night work"]:
            raise ConnectionError("no database")

    scheduler = Scheduler(fail_first, clock, (NIGHTLY, OFTEN))

    first = scheduler.turn()
    clock.at += AGAIN_AFTER
    second = scheduler.turn()

    assert (first, second) == (["often"], ["night", "often"])
    assert "no database" in caplog.text


def test_a_process_told_to_end_ends_in_the_middle_of_a_turn(clock):
    def end(task):
        raise SystemExit(0)

    with pytest.raises(SystemExit):
        Scheduler(end, clock, (OFTEN,)).turn()


@pytest.mark.django_db
@pytest.mark.parametrize("entry", TIMETABLE, ids=lambda entry: entry.name)
def test_every_entry_can_be_done_by_its_name_in_this_process(entry):
    run_task(entry.task)


def test_the_clock_is_that_of_the_server_by_itself(done):
    assert abs(Scheduler(done.append).clock() - now()) < MINUTE


NIGHT, SWEEP = "maintenance.tasks.start_night", "core.tasks.sweep"
BACK, PRICES = "maintenance.tasks.return_put_off", "maintenance.tasks.begin_price_lists"
REPORTS, SIGN = "reporting.tasks.propose_reports", "operations.tasks.note_clock"
LINKS, CLEARED = "reporting.tasks.tell_ending_links", "accounts.tasks.clear_old_notices"
BACKUP, MISSED = "operations.tasks.back_up", "operations.tasks.tell_missing_backup"
FAILURES, MAILS = "operations.tasks.tell_failures", "accounts.tasks.ask_for_digests"
COUNTED = "operations.tasks.renew_statistics"


class World:
    """What the loop of the process meets: a clock that each pause moves on a minute, a database, and a parent."""

    def __init__(self, monkeypatch):
        self.parent = os.getppid()
        self.done, self.turns, self.looked_after = [], 0, 0
        self.database_is_back_at = EVENING
        monkeypatch.setattr(scheduling, "run_task", self.run)
        monkeypatch.setattr(scheduling, "close_old_connections", self.look_after_connections)
        monkeypatch.setattr(scheduling.time, "sleep", lambda seconds: self.clock.shift(MINUTE))
        monkeypatch.setattr(scheduling.os, "getppid", self.getppid)

    def run(self, task):
        if now() < self.database_is_back_at:
            raise OperationalError("the server closed the connection unexpectedly")
        self.done.append((now() - EVENING, task))

    def look_after_connections(self):
        self.looked_after += 1

    def getppid(self):
        self.turns -= 1
        return self.parent if self.turns >= 0 else 1

    def follow(self, turns):
        """The process, until its parent is gone after so many turns."""
        self.turns = turns
        with time_machine.travel(EVENING, tick=False) as self.clock:
            run_schedule(self.parent)


@pytest.fixture
def world(monkeypatch):
    return World(monkeypatch)


def test_the_process_turns_until_its_parent_is_gone_and_keeps_no_dead_connection(world):
    world.follow(turns=3)

    assert world.done == [
        (0 * MINUTE, NIGHT),
        (0 * MINUTE, BACKUP),
        (0 * MINUTE, PRICES),
        (0 * MINUTE, BACK),
        (0 * MINUTE, REPORTS),
        (0 * MINUTE, LINKS),
        (0 * MINUTE, CLEARED),
        (0 * MINUTE, MISSED),
        (0 * MINUTE, FAILURES),
        (0 * MINUTE, MAILS),
        (0 * MINUTE, COUNTED),
        (0 * MINUTE, SIGN),
        (0 * MINUTE, SWEEP),
        (1 * MINUTE, SIGN),
        (1 * MINUTE, SWEEP),
        (2 * MINUTE, SIGN),
        (2 * MINUTE, SWEEP),
    ]
    assert world.looked_after == 3


def test_a_process_that_loses_its_database_does_the_work_when_it_is_back(world, caplog):
    world.database_is_back_at = EVENING + 3 * MINUTE

    world.follow(turns=7)

    assert world.done == [
        (AGAIN_AFTER, NIGHT),
        (AGAIN_AFTER, BACKUP),
        (AGAIN_AFTER, PRICES),
        (AGAIN_AFTER, BACK),
        (AGAIN_AFTER, REPORTS),
        (AGAIN_AFTER, LINKS),
        (AGAIN_AFTER, CLEARED),
        (AGAIN_AFTER, MISSED),
        (AGAIN_AFTER, FAILURES),
        (AGAIN_AFTER, MAILS),
        (AGAIN_AFTER, COUNTED),
        (AGAIN_AFTER, SIGN),
        (AGAIN_AFTER, SWEEP),
        (AGAIN_AFTER + MINUTE, SIGN),
        (AGAIN_AFTER + MINUTE, SWEEP),
    ]
    assert caplog.text.count("is tried again in 0:05:00") == 13
    assert world.looked_after == 7
