"""The periodic work of a server without a broker: what is due, in which order, and what happens when it fails."""

from datetime import UTC, datetime, time, timedelta

import pytest
from django.utils.timezone import now

from operations.calc.timetable import TIMETABLE, Entry
from operations.services.scheduler import AGAIN_AFTER, Scheduler, run_task

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
