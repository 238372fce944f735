"""Jobs on a real PostgreSQL, delivered by a real Redis to real workers, which die and come late.

Where a claim, a lease or an order decides, a control takes it away and shows that the fault then appears.
"""

import json
import subprocess
import sys

import pytest

from tests.concurrency.servers import ROOT, postgres, redis, server_environment, told_once

pytestmark = [pytest.mark.redis, pytest.mark.postgres]


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    """What became of the jobs. Told once, also where the tests run in several processes."""
    return told_once(tmp_path_factory, "jobs", live_through)


def live_through(folder):
    """See job_story.py, which starts and kills the workers."""
    with postgres() as database, redis() as port:
        env = server_environment(folder, DATABASE_URL=database, REDIS_URL=f"redis://127.0.0.1:{port}/0")
        command = [sys.executable, "-m", "tests.concurrency.job_story", str(folder / "log")]
        done = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout.splitlines()[-1])


def test_while_its_worker_lives_a_job_is_not_taken_over_however_often_it_is_swept(story):
    assert story.killed["while_alive"] == ["running", 1]


def test_a_job_whose_worker_was_killed_is_taken_over_after_the_lease(story):
    assert story.killed["in_the_end"] == "done"
    assert (story.killed["claims"], story.killed["computed"]) == (2, 2)


def test_just_after_the_kill_the_lease_still_holds_others_off(story):
    assert story.killed["just_after"] == 1


def test_without_an_end_of_leases_the_job_would_lie_for_ever(story):
    assert story.killed_unexpired["in_the_end"] == "running"
    assert story.killed_unexpired["computed"] == 1


def test_a_job_delivered_to_two_workers_at_once_is_done_by_one(story):
    assert story.twice == {"by": 2, "computed": 1}


def test_without_the_claim_both_would_do_it(story):
    assert story.twice_unclaimed == {"by": 2, "computed": 2}


def test_a_night_makes_one_fit_and_then_each_forecast_once_with_it_though_the_fit_ends_late(story):
    assert story.night == {"fits": 1, "each": [1], "with_it": True}


def test_what_a_worker_that_was_killed_had_done_of_a_batch_stays(story):
    assert story.batch["kept"] == ["done", "done", "running", "running", "running"]


def test_the_rest_of_the_batch_is_made_when_its_leases_have_run_out_and_nothing_twice_but_what_was_begun(
    story,
):
    assert story.batch["in_the_end"] == ["done"] * 5
    assert story.batch["computed"] == [1, 1, 2, 1, 1]
