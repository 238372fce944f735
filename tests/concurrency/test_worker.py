"""A web process, a broker and a worker, each of its own: what happens when the broker is away, and when it is back."""

import json
import shutil
import subprocess
import sys
from functools import partial

import pytest

from tests.concurrency.patience import PATIENCE_S
from tests.concurrency.servers import ROOT, dead_port, redis, running, server_environment, told_once

pytestmark = pytest.mark.redis
QUICK_S = 10.0
NEVER_S = 4 * PATIENCE_S  # so that a step that hangs ends at all


@pytest.fixture(scope="module")
def story(tmp_path_factory, migrated_file):
    """What the processes saw. Told once, also where the tests run in several processes."""
    return told_once(tmp_path_factory, "server", partial(live_through, migrated_file))


def live_through(migrated_file, folder):
    """A test is recorded while the broker is down; then broker and worker start, the sweep runs, another test comes."""
    env = server_environment(folder)
    shutil.copy(migrated_file, folder / "firm.sqlite3")

    def with_broker(port):
        return env | {"REDIS_URL": f"redis://127.0.0.1:{port}/0"}

    def web(step, port):
        command = [sys.executable, "-m", "tests.concurrency.web_process", step]
        done = subprocess.run(
            command, cwd=ROOT, env=with_broker(port), capture_output=True, timeout=NEVER_S, check=False
        )
        assert done.returncode == 0, done.stderr[-3000:]
        return json.loads(done.stdout.splitlines()[-1])

    with dead_port() as port:
        seen = web("alone", port)
    worker = [
        sys.executable, "-m", "celery", "-A", "config", "worker", "--pool", "solo", "--loglevel", "WARNING"
    ]  # fmt: skip
    log = folder / "worker.log"
    with (
        redis() as port,
        log.open("wb") as said,
        running(worker, cwd=ROOT, env=with_broker(port), stdout=said, stderr=subprocess.STDOUT),
    ):
        seen |= web("together", port)
    return seen | {"worker_said": log.read_text(encoding="utf-8", errors="replace")[-3000:]}


def test_a_test_recorded_while_the_broker_is_down_is_stored_and_the_page_answers(story):
    assert story.alone["tests"] == 1
    assert story.alone["answers"] == [302, 302, 200]


def test_nobody_waits_long_for_a_broker_that_is_down(story):
    """What the program itself chose to wait; the time taken would say how loaded the machine is."""
    assert story.alone["waited_s"] < QUICK_S


def test_people_can_sign_in_while_the_broker_is_down(story):
    assert story.alone["signed_in"] == 302


def test_without_a_worker_the_forecast_is_left_for_later_rather_than_made_in_the_page(story):
    """The control: what is fresh afterwards was made by the worker."""
    assert not story.alone["fresh"]


def test_the_sweep_catches_up_once_the_broker_is_back(story):
    assert story.caught_up["fresh"], story.worker_said
    assert story.caught_up["version"] == story.alone["version"]
    assert story.caught_up["rate"] > 0


def test_a_test_recorded_with_a_worker_is_forecast_by_it_unasked(story):
    assert story.together["answers"] == [302, 302, 200]
    assert story.kept_up["fresh"], story.worker_said
    assert story.kept_up["version"] > story.caught_up["version"]
