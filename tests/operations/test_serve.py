"""`manage.py serve` as real processes: what works beside it comes back when it dies, and nothing is left at the end."""

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from functools import partial

import pytest

from operations.services.supervisor import BEHIND_PAGES
from tests.concurrency.patience import wait_until
from tests.concurrency.servers import ROOT, server_environment, told_once
from tests.needs import need
from tests.operations.served import PAGES, SCHEDULER, WORKER, Served, family, of_kind


@pytest.fixture(scope="module")
def story(tmp_path_factory, migrated_file):
    """What became of the processes. Told once, also where the tests run in several processes."""
    need("ps", "procps")
    return told_once(tmp_path_factory, "serve", partial(live_through, migrated_file))


def live_through(migrated_file, folder):
    """Four servers, each ended in another way."""
    shutil.copy(migrated_file, folder / "firm.sqlite3")
    env = server_environment(folder)
    prepare = [sys.executable, "-m", "tests.concurrency.web_process", "empty"]
    subprocess.run(prepare, cwd=ROOT, env=env, check=True, capture_output=True)
    seen = {}

    served = Served(folder)
    seen |= {kind: len(served.of(kind)) for kind in (SCHEDULER, WORKER)}
    wait_until(lambda: forecast_of(folder) == "done", "The scheduler's work")
    seen["forecast"] = forecast_of(folder)
    seen["stands_behind"] = {kind: niceness_of(served, kind) for kind in (PAGES, SCHEDULER, WORKER)}
    for kind in (SCHEDULER, WORKER):
        (first,) = served.of(kind)
        os.kill(first, signal.SIGKILL)
        wait_until(partial(came_back, served, kind, first), f"The next {kind}")
    seen |= {"came_back": [len(served.of(kind)) for kind in (SCHEDULER, WORKER)]}
    seen["served_on"] = served.answers()
    seen["terminated"] = served.end_by(lambda number: os.kill(number, signal.SIGTERM))

    seen["interrupted"] = Served(folder).end_by(lambda number: os.killpg(number, signal.SIGINT))
    seen["killed"] = Served(folder).end_by(lambda number: os.kill(number, signal.SIGKILL))
    seen["pages_died"] = Served(folder).end_by(
        lambda number: os.kill(of_kind(family(number), PAGES)[0], signal.SIGKILL)
    )
    return seen


def niceness_of(served, kind):
    """By how much less of the processor it asks for than these tests."""
    own = os.getpriority(os.PRIO_PROCESS, 0)
    return [os.getpriority(os.PRIO_PROCESS, number) - own for number in served.of(kind)][:1]


def came_back(served, kind, first):
    return served.of(kind) not in ([], [first])


def forecast_of(folder):
    with sqlite3.connect(folder / "firm.sqlite3", timeout=60) as rows:
        found = rows.execute("select state from maintenance_forecast").fetchone()
    return found and found[0]


def test_there_is_one_scheduler_and_one_worker_though_three_processes_serve(story):
    assert (story.schedule, story.work) == (1, 1)


def test_work_beside_stands_behind_the_pages_that_people_wait_for(story):
    assert story.stands_behind == {PAGES: [0], SCHEDULER: [BEHIND_PAGES], WORKER: [BEHIND_PAGES]}


def test_the_scheduler_does_the_work_of_its_timetable(story):
    assert story.forecast == "done"


def test_a_scheduler_or_a_worker_that_is_killed_comes_back_while_pages_are_served(story):
    assert (story.came_back, story.served_on) == ([1, 1], True)


@pytest.mark.parametrize("how", ["terminated", "interrupted"])
def test_a_server_told_to_end_ends_well_and_leaves_nothing(story, how):
    assert getattr(story, how) == {"status": 0, "left": []}


def test_a_server_killed_without_a_word_leaves_nothing(story):
    assert story.killed == {"status": -signal.SIGKILL, "left": []}


def test_a_server_whose_pages_died_says_so_by_its_status_and_leaves_nothing(story):
    assert story.pages_died["left"] == []
    assert story.pages_died["status"] != 0
