"""`manage.py serve` as real processes: its scheduler comes back when it dies, and nothing is left at the end."""

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from functools import partial
from urllib.error import URLError
from urllib.request import urlopen

import pytest

from operations.services.supervisor import GRACE_S
from tests.concurrency.servers import ROOT, free_port, server_environment, told_once
from tests.needs import need

PATIENCE_S = 300.0
# Whoever does not end within the grace is killed; a loaded machine needs its time for both.
TIME_TO_END_S = 4 * GRACE_S
SCHEDULER, PAGES = "schedule", "serve --pages-only"


@pytest.fixture(scope="module")
def story(tmp_path_factory, migrated_file):
    """What became of the processes. Told once, also where the tests run in several processes."""
    need("ps", "procps")
    return told_once(tmp_path_factory, "serve", partial(live_through, migrated_file))


def wait_until(ready, what):
    until = time.monotonic() + PATIENCE_S
    while not ready():
        assert time.monotonic() < until, f"Not within {PATIENCE_S:g} s: {what}."
        time.sleep(0.2)


def processes():
    """Living processes: number, parent and command."""
    listed = subprocess.run(
        ["ps", "-ewwo", "pid=,ppid=,stat=,args="], capture_output=True, text=True, check=True
    ).stdout
    found = {}
    for line in listed.splitlines():
        number, parent, state, command = line.split(None, 3)
        if not state.startswith("Z"):
            found[int(number)] = (int(parent), command)
    return found


def family(of):
    """The processes below one, with their commands."""
    everybody = processes()
    found, around = {}, {of}
    while around:
        around = {number for number, (parent, _) in everybody.items() if parent in around} - found.keys()
        found |= {number: everybody[number][1] for number in around}
    return found


def alive_of(family_before):
    """Those of them that still are: by number and command, since a number is given again to somebody else."""
    everybody = processes()
    return {
        number: command
        for number, command in family_before.items()
        if everybody.get(number, (0, ""))[1] == command
    }


def of_kind(found, kind):
    return [number for number, command in found.items() if f"-m django {kind}" in command]


class Served:
    """A server of its own, in a session of its own, as a shell would start it."""

    def __init__(self, folder):
        self.port = free_port()
        command = [
            sys.executable, "manage.py", "serve", "--bind", f"127.0.0.1:{self.port}", "--workers", "3"
        ]  # fmt: skip
        self.process = subprocess.Popen(
            command,
            cwd=ROOT,
            env=server_environment(folder),
            start_new_session=True,
            stderr=(folder / "errors").open("a"),
        )
        wait_until(self.answers, "the server answers")
        wait_until(lambda: self.schedulers(), "the scheduler has started")
        wait_until(lambda: len(self.family()) == 5, "both programs and three workers are there")

    def answers(self):
        assert self.process.poll() is None
        try:
            with urlopen(f"http://127.0.0.1:{self.port}/sign-in/login/", timeout=30) as answer:
                return answer.status == 200
        except (URLError, ConnectionError, TimeoutError):
            return False

    def family(self):
        return family(self.process.pid)

    def schedulers(self):
        return of_kind(self.family(), SCHEDULER)

    def end_by(self, end):
        """End it, and tell its exit status and the commands of its family that are left when all had time to end."""
        before = self.family()
        end(self.process.pid)
        status = self.process.wait(PATIENCE_S)
        until = time.monotonic() + TIME_TO_END_S
        while (left := alive_of(before)) and time.monotonic() < until:
            time.sleep(0.2)
        for number in left:
            os.kill(number, signal.SIGKILL)
        return {"status": status, "left": sorted(left.values())}


def live_through(migrated_file, folder):
    """Four servers, each ended in another way."""
    shutil.copy(migrated_file, folder / "firm.sqlite3")
    env = server_environment(folder)
    prepare = [sys.executable, "-m", "tests.concurrency.web_process", "empty"]
    subprocess.run(prepare, cwd=ROOT, env=env, check=True, capture_output=True)
    seen = {}

    served = Served(folder)
    seen["schedulers"] = len(served.schedulers())
    wait_until(lambda: forecast_of(folder) == "done", "the scheduler has done its work")
    seen["forecast"] = forecast_of(folder)
    first = served.schedulers()
    os.kill(first[0], signal.SIGKILL)
    wait_until(lambda: served.schedulers() not in ([], first), "the scheduler came back")
    seen |= {"came_back": len(served.schedulers()), "served_on": served.answers()}
    seen["terminated"] = served.end_by(lambda number: os.kill(number, signal.SIGTERM))

    seen["interrupted"] = Served(folder).end_by(lambda number: os.killpg(number, signal.SIGINT))
    seen["killed"] = Served(folder).end_by(lambda number: os.kill(number, signal.SIGKILL))
    seen["pages_died"] = Served(folder).end_by(
        lambda number: os.kill(of_kind(family(number), PAGES)[0], signal.SIGKILL)
    )
    return seen


def forecast_of(folder):
    with sqlite3.connect(folder / "firm.sqlite3", timeout=60) as rows:
        found = rows.execute("select state from maintenance_forecast").fetchone()
    return found and found[0]


def test_there_is_one_scheduler_though_three_workers_serve(story):
    assert story.schedulers == 1


def test_the_scheduler_does_the_work_of_its_timetable(story):
    assert story.forecast == "done"


def test_a_scheduler_that_is_killed_comes_back_while_pages_are_served(story):
    assert (story.came_back, story.served_on) == (1, True)


@pytest.mark.parametrize("how", ["terminated", "interrupted"])
def test_a_server_told_to_end_ends_well_and_leaves_nothing(story, how):
    assert getattr(story, how) == {"status": 0, "left": []}


def test_a_server_killed_without_a_word_leaves_nothing(story):
    assert story.killed == {"status": -signal.SIGKILL, "left": []}


def test_a_server_whose_pages_died_says_so_by_its_status_and_leaves_nothing(story):
    assert story.pages_died["left"] == []
    assert story.pages_died["status"] != 0
