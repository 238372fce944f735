"""What people asked for, done beside the web server: the newest first, each kind by itself, batches behind."""

import os
from threading import Event, Thread
from types import SimpleNamespace

import pytest
from django.db import OperationalError

from core.services import jobs
from operations.management.commands import serve
from operations.services import worker as working
from operations.services.wakes import open_pipe, wait_for_wake
from operations.services.worker import Lane, Worker, run_worker

FORECASTS, MAILS = "maintenance.Forecast", "reporting.Sending"
PATIENCE_S = 60.0


class Queue:
    """What is asked for, by kind, and what was done of it in which order."""

    def __init__(self, monkeypatch):
        self.asked = {label: [] for label in jobs.labels()}
        self.batches, self.done, self.hold = 0, [], {}
        monkeypatch.setattr(jobs, "newest_asked", self.newest)
        monkeypatch.setattr(working.tasks, "deliver", self.deliver)
        monkeypatch.setattr(working.tasks, "run_batches", SimpleNamespace(delay=self.batch))
        monkeypatch.setattr(working, "PAUSE_S", 0.01)
        monkeypatch.setattr(working, "close_old_connections", lambda: None)
        for name in ("_deliver", "_deliver_batches", "_deliver_beside"):
            monkeypatch.setattr(jobs, name, list(getattr(jobs, name)))

    def newest(self, label):
        return self.asked[label][-1] if self.asked[label] else None

    def deliver(self, label, pk):
        if label in self.hold:
            assert self.hold[label].wait(PATIENCE_S)
        self.asked[label].remove(pk)
        self.done.append(pk)

    def batch(self, label, until_s):
        self.batches -= 1
        self.done.append("batch")
        if self.batches == 1:
            self.asked[label].append("a person's")
        return SimpleNamespace(successful=lambda: True, result=max(0, self.batches))


@pytest.fixture
def queue(monkeypatch):
    return Queue(monkeypatch)


def finish(worker):
    """Have all lanes work until nothing is left."""
    worker.look()
    for lane in worker.lanes.values():
        lane._thread and lane._thread.join(PATIENCE_S)


def test_what_was_asked_for_last_is_done_first(queue):
    queue.asked[FORECASTS] = ["first", "second", "third"]

    finish(Worker())

    assert queue.done == ["third", "second", "first"]


def test_what_a_person_asks_for_comes_between_batches(queue):
    queue.batches = 3
    worker = Worker()
    worker.take_deliveries()
    jobs._deliver_batches[0](FORECASTS)

    finish(worker)

    assert queue.done == ["batch", "batch", "a person's", "batch"]


def test_batches_that_fail_are_left_to_the_sweep(queue, monkeypatch):
    failed = SimpleNamespace(successful=lambda: False, result=ValueError("no"))
    monkeypatch.setattr(working.tasks, "run_batches", SimpleNamespace(delay=lambda *args: failed))
    lane = Lane(FORECASTS, Event())
    lane.ask_for_batches()

    assert [lane._turn(), lane._turn()] == [True, False]


def test_a_forecast_does_not_wait_for_a_mail_server_that_hangs(queue):
    answers = queue.hold[MAILS] = Event()
    queue.asked |= {MAILS: ["mail"], FORECASTS: ["forecast"]}
    worker = Worker()

    worker.look()
    worker.lanes[FORECASTS]._thread.join(PATIENCE_S)
    before = list(queue.done)
    answers.set()
    worker.lanes[MAILS]._thread.join(PATIENCE_S)

    assert (before, queue.done) == (["forecast"], ["forecast", "mail"])


def test_what_is_asked_for_while_a_job_goes_on_is_done_after_it(queue):
    goes_on = queue.hold[FORECASTS] = Event()
    queue.asked[FORECASTS] = ["first"]
    worker = Worker()
    worker.look()
    queue.asked[FORECASTS].insert(0, "meanwhile")

    worker.look()
    goes_on.set()
    worker.lanes[FORECASTS]._thread.join(PATIENCE_S)

    assert queue.done == ["first", "meanwhile"]


def test_a_job_that_stays_as_it_was_is_not_tried_without_a_pause(queue, monkeypatch):
    """Somebody else holds it, or its time comes later: else a lane would turn as fast as it can."""
    queue.asked[FORECASTS] = ["held"]
    tries = iter(range(3))
    monkeypatch.setattr(working.tasks, "deliver", lambda label, pk: next(tries))
    pauses = []
    lane = Lane(FORECASTS, SimpleNamespace(wait=pauses.append))

    for _ in range(3):
        lane._turn()

    assert len(pauses) == 2


def test_a_database_that_is_away_ends_neither_the_looks_nor_a_lane_for_good(queue, monkeypatch, caplog):
    queue.asked[FORECASTS] = ["forecast"]
    answers = iter([OperationalError("away"), "forecast", OperationalError("away")])

    def away(label):
        if label != FORECASTS:
            return None
        found = next(answers, None) or queue.newest(label)
        if isinstance(found, Exception):
            raise found
        return found

    monkeypatch.setattr(jobs, "newest_asked", away)
    worker = Worker()

    worker.look()
    finish(worker)
    finish(worker)

    assert queue.done == ["forecast"]
    assert caplog.text.count("looked for again") == caplog.text.count("is taken up again") == 1


def test_the_process_looks_when_it_is_woken_and_ends_with_its_parent(queue, monkeypatch):
    looks, parent = [], os.getppid()
    parents = iter([parent, parent, 1])
    monkeypatch.setattr(Worker, "look", lambda self: looks.append(self))
    monkeypatch.setattr(working.os, "getppid", lambda: next(parents))
    monkeypatch.setattr(working, "wait_for_wake", lambda woken, longest_s: looks.append(woken))

    run_worker(7, parent)

    assert looks[1::2] == [7, 7]


def test_told_to_end_it_lets_go_on_what_is_done_and_begins_nothing_more(queue, monkeypatch):
    goes_on = queue.hold[FORECASTS] = Event()
    queue.asked[FORECASTS] = ["left", "done"]
    worker = Worker()
    worker.look()
    ends = Thread(target=worker.end)

    ends.start()
    while not worker._ending.is_set():
        pass
    goes_on.set()
    ends.join(PATIENCE_S)

    assert queue.done == ["done"]


def test_a_page_only_wakes_the_worker(queue):
    pipe = open_pipe()
    serve._leave_work_to(pipe.wakes)
    looked = []
    for ways, args in (
        (jobs._deliver, (FORECASTS, "a")),
        (jobs._deliver_beside, ("exchange.DataImport", "b")),
        (jobs._deliver_batches, (FORECASTS,)),
    ):
        ways[0](*args)
        looked.append(wait_for_wake(pipe.woken, 0.0))
    for end in pipe:
        os.close(end)

    assert (looked, queue.done) == ([True] * 3, [])
