"""What a request asks for is done beside the web server, by the worker it wakes, also after that one was killed."""

import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from contextlib import contextmanager
from functools import partial
from itertools import count
from urllib.request import Request, urlopen
from uuid import uuid4

import pytest
from django.utils.timezone import localdate

from operations.services.wakes import open_pipe
from tests.concurrency.patience import wait_until
from tests.concurrency.servers import ROOT, free_port, running, server_environment, told_once
from tests.needs import need
from tests.operations.served import WORKER, Served

READINGS = {
    "prewet_mass": 3.6,
    "prewet_time_s": 45,
    "start_delay_s": 30,
    "test_mass": 3.6,
    "ring_diameter": 300,
    "elapsed_s": 150,
}
TRIES = 12


@pytest.fixture(scope="module")
def story(tmp_path_factory, migrated_file):
    """What the processes did. Told once, also where the tests run in several processes."""
    need("ps", "procps")
    return told_once(tmp_path_factory, "beside", partial(live_through, migrated_file))


class Meter:
    """A program that records, and what it finds in the database behind the server's back."""

    def __init__(self, folder):
        prepare = [sys.executable, "-m", "tests.concurrency.web_process", "program"]
        env = server_environment(folder)
        told = subprocess.run(prepare, cwd=ROOT, env=env, check=True, capture_output=True).stdout
        self.place, self.file = json.loads(told.splitlines()[-1]), folder / "firm.sqlite3"
        self._spots = count()

    def record(self, address):
        """One test, a version of the record in itself; gives the version that the forecast is to be made from."""
        round_ = {
            "surface": self.place["surface"],
            "tested_on": localdate().isoformat(),
            "purpose": "routine",
        }
        key = str(uuid4())
        test = {"round": key, "spot": f"spot {next(self._spots)}", "keep_anyway": True, "readings": READINGS}
        self._put(f"{address}/api/rounds/{key}", round_)
        self._put(f"{address}/api/tests/{uuid4()}", test)
        return self.ask("select record_version from qa_surface")

    def _put(self, url, body):
        head = {"Authorization": f"Bearer {self.place['secret']}", "Content-Type": "application/json"}
        sent = Request(url, json.dumps(body).encode(), head, method="PUT")
        with urlopen(sent, timeout=120) as answer:
            assert answer.status in (200, 201)

    def ask(self, query):
        with sqlite3.connect(self.file, timeout=60) as rows:
            found = rows.execute(query).fetchone()
        return found and found[0]

    def forecast(self, column):
        return self.ask(f"select {column} from maintenance_forecast")

    def has(self, version):
        return self.forecast("made_from_version") == version and self.forecast("state") == "done"

    def wait_for(self, version):
        """The number of the process that made the forecast of a version."""
        wait_until(lambda: self.has(version), "The forecast")
        return int(self.forecast("worker").rpartition(":")[2])

    def does_it(self, served):
        """Whether the worker makes the forecast of a record. The scheduler's sweep comes first now and then."""
        return any([self.wait_for(self.record(served.address))] == served.of(WORKER) for _ in range(TRIES))

    def kill_who_works(self, address):
        """Record until a worker is met at its work, and kill it; gives its number and the version it left."""
        for _ in range(TRIES):
            version = self.record(address)
            while not self.has(version):
                if self.forecast("state") == "running":
                    number = int(self.forecast("worker").rpartition(":")[2])
                    os.kill(number, signal.SIGKILL)
                    if self.forecast("state") == "running":
                        return number, version
                    break
        raise AssertionError(f"No worker was met at its work in {TRIES} tries.")


def live_through(migrated_file, folder):
    shutil.copy(migrated_file, folder / "firm.sqlite3")
    meter, seen = Meter(folder), {}
    with pages_alone(folder) as (address, _):
        version = meter.record(address)
        seen["nobody"] = [meter.forecast("state"), meter.has(version), meter.forecast("started_at")]
        with helper(folder, "schedule") as number:
            seen["swept"] = meter.wait_for(version) == number
        with helper(folder, "work") as number:
            seen["not_woken"] = meter.wait_for(meter.record(address)) == number

    served = Served(folder)
    try:
        seen["woken"] = meter.does_it(served)
        killed, version = meter.kill_who_works(served.address)
        seen["taken_up"] = meter.wait_for(version) != killed
        wait_until(lambda: served.of(WORKER) not in ([], [killed]), "The next worker")
        seen["next"] = meter.does_it(served)
    finally:
        seen["end"] = served.end_by(lambda number: os.kill(number, signal.SIGTERM))
    return seen


@contextmanager
def pages_alone(folder):
    """A web server whose wakes nobody heeds."""
    pipe, port = open_pipe(), free_port()
    serve = ["serve", "--pages-only", "--bind", f"127.0.0.1:{port}", "--wakes", str(pipe.wakes)]
    env = server_environment(folder)
    try:
        command = [sys.executable, "manage.py", *serve]
        with running(command, cwd=ROOT, env=env, pass_fds=[pipe.wakes]):
            address = f"http://127.0.0.1:{port}"
            wait_until(partial(answers, address), "The web server")
            yield address, pipe
    finally:
        for end in pipe:
            os.close(end)


def answers(address):
    try:
        with urlopen(f"{address}/live/", timeout=30) as answer:
            return answer.status == 200
    except OSError:
        return False


@contextmanager
def helper(folder, kind):
    """A program beside it that nobody wakes."""
    with running([sys.executable, "manage.py", kind], cwd=ROOT, env=server_environment(folder)) as process:
        yield process.pid


def test_the_request_leaves_a_row_and_computes_nothing(story):
    """The control of all that follows: with nobody beside it the work stays undone."""
    assert story.nobody == ["waiting", False, None]


def test_what_no_worker_did_is_found_by_the_sweep(story):
    assert story.swept


def test_a_worker_that_is_not_woken_finds_it_by_itself(story):
    assert story.not_woken


def test_under_serve_the_worker_does_it(story):
    assert story.woken


def test_what_a_worker_was_killed_over_is_taken_up_by_another(story):
    assert story.taken_up


def test_the_worker_that_is_started_again_is_woken_like_the_first(story):
    assert story.next


def test_nothing_is_left_of_the_server(story):
    assert story.end == {"status": 0, "left": []}
