"""Jobs of a kind that only these tests know: a row that counts, and work that adds one."""

import errno
from datetime import timedelta

import pytest
from django.db import connection, models, transaction
from django.test.utils import isolate_apps
from django.utils.timezone import now

from core.errors import IncompleteRecordError
from core.models.jobs import Job, JobQuerySet
from core.models.rows import Row
from core.services import jobs
from core.services.jobs import Outcome
from tests.concurrency.patience import wait_until

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)

with isolate_apps("core"):

    class Tally(Row, Job):
        """A number that each piece of work raises by one."""

        number = models.IntegerField(default=0)

        objects = JobQuerySet.as_manager()

        class Meta:
            app_label = "core"

        def __str__(self):
            return f"tally at {self.number}"


@pytest.fixture(scope="module", autouse=True)
def _table(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock():
        with connection.schema_editor() as editor:
            editor.create_model(Tally)
        yield
        with connection.schema_editor() as editor:
            editor.delete_model(Tally)


@pytest.fixture(autouse=True)
def kinds(monkeypatch):
    """Only what a test registers is known, as in a program whose other jobs are elsewhere."""
    monkeypatch.setattr(jobs, "_KINDS", {})
    return jobs._KINDS


@pytest.fixture
def delivered(monkeypatch):
    """Collects what was to be delivered, instead of doing it."""
    sent = []
    monkeypatch.setattr(jobs, "_deliver", [lambda label, pk: sent.append(pk)])
    return sent


def work_by(work):
    jobs.works_on(Tally)(work)


def add_one(tally, claim):
    claim.finish(number=tally.number + 1)


def run(tally):
    return jobs.run("core.Tally", tally.pk)


def stored(tally):
    return Tally.objects.get(pk=tally.pk)


def state_of(tally):
    found = stored(tally)
    return found.state, found.number, found.attempts, found.error


def test_a_job_is_done_and_stores_its_result_with_its_end():
    tally = Tally.objects.create()
    work_by(add_one)

    outcome = run(tally)

    assert outcome is Outcome.DONE
    assert state_of(tally) == ("done", 1, 0, "")
    assert stored(tally).started_at <= stored(tally).finished_at
    assert stored(tally).lease_until is None


def test_work_that_returns_without_a_result_is_done():
    tally = Tally.objects.create()
    work_by(lambda tally, claim: None)

    assert run(tally) is Outcome.DONE
    assert state_of(tally) == ("done", 0, 0, "")


def test_a_second_delivery_does_nothing():
    tally = Tally.objects.create()
    work_by(add_one)
    run(tally)

    assert run(tally) is Outcome.FRESH
    assert stored(tally).number == 1


def test_a_job_whose_row_is_gone_is_no_error():
    tally = Tally.objects.create()
    work_by(add_one)
    Tally.objects.all().delete()

    assert run(tally) is Outcome.GONE


def meanwhile(act):
    """Work in whose middle something happens, once."""
    happened = []

    def work(tally, claim):
        if not happened:
            happened.append(None)
            happened.append(act(tally))
        claim.finish(number=stored(tally).number + 1)

    work_by(work)
    return happened


def test_a_delivery_during_the_work_is_held_off():
    tally = Tally.objects.create()
    happened = meanwhile(run)

    assert run(tally) is Outcome.DONE
    assert happened[1] is Outcome.HELD
    assert stored(tally).number == 1


def test_without_the_claim_both_deliveries_would_work(monkeypatch):
    """The control for the test above."""
    tally = Tally.objects.create()
    happened = meanwhile(run)
    monkeypatch.setattr(jobs, "take", lambda job: jobs.Claim(job, job.claim_number, 1))
    Tally.objects.update(state="running")

    run(tally)

    assert happened[1] is not Outcome.HELD


def test_a_delivery_that_looked_before_the_other_began_and_claims_after_it_ended_does_nothing():
    tally = Tally.objects.create()
    work_by(add_one)
    as_read_early = stored(tally)
    run(tally)

    assert jobs.take(as_read_early) is None
    assert state_of(tally) == ("done", 1, 0, "")


def test_without_the_number_of_the_claim_the_late_delivery_would_work_again():
    """The control for the test above: the row is free, so that only the number tells."""
    tally = Tally.objects.create()
    work_by(add_one)
    run(tally)

    assert jobs.take(stored(tally)) is not None


def test_whoever_lost_the_claim_stays_silent():
    tally = Tally.objects.create()
    meanwhile(lambda tally: Tally.objects.update(claim_number=99, error="by the other"))

    assert run(tally) is Outcome.LOST
    assert state_of(tally) == ("running", 0, 1, "by the other")


def test_long_work_finds_out_at_its_next_step_that_the_claim_is_lost():
    tally, steps = Tally.objects.create(), []

    def work(tally, claim):
        jobs.requeue(Tally.objects.all())
        claim.progress(1, 2, "halves")
        steps.append("the second half")

    work_by(work)

    assert run(tally) is Outcome.LOST
    assert steps == []
    assert stored(tally).state == "waiting"


def test_work_asked_for_anew_while_it_runs_is_done_once_more():
    tally = Tally.objects.create()
    meanwhile(lambda tally: jobs.requeue(Tally.objects.filter(pk=tally.pk)))

    assert [run(tally), run(tally), run(tally)] == [Outcome.LOST, Outcome.DONE, Outcome.FRESH]


def left_by_a_dead_worker(**columns):
    usual = {"state": "running", "claim_number": 1, "attempts": 1, "lease_until": now() - HOUR}
    return Tally.objects.create(**usual | columns)


def test_a_job_whose_worker_died_is_found_by_the_sweep_and_taken_over(delivered):
    tally = left_by_a_dead_worker()
    work_by(add_one)

    jobs.sweep()

    assert delivered == [str(tally.pk)]
    assert run(tally) is Outcome.DONE


def test_a_job_still_at_work_is_left_alone(delivered):
    tally = left_by_a_dead_worker(lease_until=now() + Tally.LEASE)
    work_by(add_one)

    jobs.sweep()

    assert delivered == []
    assert run(tally) is Outcome.HELD


def test_a_lease_that_ends_later_than_any_can_was_given_by_a_clock_that_was_put_back(delivered):
    tally = left_by_a_dead_worker(lease_until=now() + HOUR)
    work_by(add_one)

    jobs.sweep()

    assert delivered == [str(tally.pk)]
    assert run(tally) is Outcome.DONE


def test_a_job_that_kills_every_worker_is_given_up_in_words(delivered):
    tally = left_by_a_dead_worker(attempts=Tally.MOST_ATTEMPTS)
    work_by(add_one)

    jobs.sweep()

    assert delivered == []
    assert state_of(tally) == ("failed", 0, Tally.MOST_ATTEMPTS, Tally.GIVEN_UP)
    assert stored(tally).finished_at is not None


def fail(tally, claim):
    raise RuntimeError("out of memory")


def test_work_that_failed_is_tried_again_and_given_up_in_words(delivered):
    tally = Tally.objects.create()
    work_by(fail)
    seen = []
    for _ in range(Tally.MOST_ATTEMPTS):
        with pytest.raises(RuntimeError, match="out of memory"):
            run(tally)
        seen.append((stored(tally).state, stored(tally).error))

    jobs.sweep()

    again = ("waiting", Tally.TRIED_AGAIN)
    assert seen == [again, again, ("failed", Tally.GIVEN_UP)]
    assert delivered == []
    assert run(tally) is Outcome.FRESH


def meet_a_full_disk(tally, claim):
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_full_disk_is_no_failure_of_the_work_which_is_tried_until_there_is_room(delivered):
    tally = Tally.objects.create()
    work_by(meet_a_full_disk)
    for _ in range(2 * Tally.MOST_ATTEMPTS):
        with pytest.raises(OSError, match="No space left"):
            run(tally)

    assert state_of(tally) == ("waiting", 0, 0, Tally.TRIED_AGAIN)
    work_by(add_one)
    assert run(tally) is Outcome.DONE


def test_a_success_after_failures_clears_words_and_attempts():
    tally = Tally.objects.create()
    work_by(fail)
    with pytest.raises(RuntimeError):
        run(tally)
    work_by(add_one)

    assert run(tally) is Outcome.DONE
    assert state_of(tally) == ("done", 1, 0, "")


def test_what_only_people_can_mend_is_an_answer_and_not_tried_again(delivered):
    tally = Tally.objects.create()

    def refuse(tally, claim):
        raise IncompleteRecordError("There is nothing to count. Record something.")

    work_by(refuse)

    outcome = run(tally)
    jobs.sweep()

    assert outcome is Outcome.FAILED
    assert state_of(tally) == ("failed", 0, 0, "There is nothing to count. Record something.")
    assert delivered == []


@pytest.mark.parametrize("end", [SystemExit, KeyboardInterrupt])
def test_a_process_told_to_end_puts_its_job_back_at_once_and_no_attempt_is_counted(end):
    tally = Tally.objects.create()

    def told_to_end(tally, claim):
        raise end

    work_by(told_to_end)

    with pytest.raises(end):
        run(tally)

    assert state_of(tally) == ("waiting", 0, 0, "")
    work_by(add_one)
    assert run(tally) is Outcome.DONE


def test_progress_can_be_read_while_the_work_goes_on():
    tally, read = Tally.objects.create(), []

    def work(tally, claim):
        for step, word in ((0, "reading"), (1, "counting"), (1, "counting"), (2, "counting")):
            claim.progress(step, 2, word)
            row = stored(tally)
            read.append((row.progress_done, row.progress_total, row.progress_word))

    work_by(work)
    run(tally)

    assert read == [(0, 2, "reading"), (1, 2, "counting"), (1, 2, "counting"), (2, 2, "counting")]


def test_many_small_steps_are_not_each_written(django_assert_num_queries):
    tally = Tally.objects.create()
    claim = jobs.take(tally)

    with django_assert_num_queries(2):  # the first and the last
        for step in range(1, 1001):
            claim.progress(step, 1000, "rows read")


def test_the_progress_of_the_attempt_before_is_forgotten():
    tally = left_by_a_dead_worker(progress_done=3, progress_total=4, progress_word="pages")

    jobs.take(tally)

    row = stored(tally)
    assert (row.progress_done, row.progress_total, row.progress_word) == (0, 0, "")


def test_a_nudge_goes_out_after_the_commit(delivered, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        tally = Tally.objects.create()
        jobs.nudge(tally)
        before = list(delivered)

    assert (before, delivered) == ([], [str(tally.pk)])


@pytest.mark.django_db(transaction=True)
def test_work_that_was_rolled_back_is_not_delivered(delivered):
    with transaction.atomic():
        jobs.nudge(Tally.objects.create())
        transaction.set_rollback(True)

    assert delivered == []


@pytest.mark.django_db(transaction=True)
def test_a_nudge_that_is_lost_harms_nobody_and_the_sweep_finds_the_job(monkeypatch, caplog):
    def broken(label, pk):
        raise ConnectionError("no broker")

    tally = Tally.objects.create()
    work_by(add_one)
    monkeypatch.setattr(jobs, "_deliver", [broken])

    jobs.nudge(tally)
    monkeypatch.setattr(jobs, "_deliver", [jobs.run])
    jobs.sweep()

    assert "no broker" in caplog.text
    assert stored(tally).state == "done"
    Tally.objects.all().delete()


def test_only_those_wanted_and_free_are_nudged(delivered, django_capture_on_commit_callbacks):
    waiting = Tally.objects.create()
    Tally.objects.create(state="done")
    Tally.objects.create(state="failed")
    left_by_a_dead_worker(lease_until=now() + Tally.LEASE)

    with django_capture_on_commit_callbacks(execute=True):
        jobs.nudge_wanted(Tally.objects.all())

    assert delivered == [str(waiting.pk)]


def test_a_sweep_first_does_what_its_kind_asks_for(delivered):
    jobs.works_on(Tally, before_sweep=Tally.objects.create)(add_one)

    count = jobs.sweep()

    assert count == len(delivered) == 1


@pytest.fixture
def quick_heart(monkeypatch, transactional_db):
    """It beats often in a lease that no machine is too slow for; what passes is the tests' clock."""
    monkeypatch.setattr(jobs, "BEATS_A_LEASE", Tally.LEASE / timedelta(seconds=0.02))
    yield
    Tally.objects.all().delete()


def lease_of(tally):
    return stored(tally).lease_until


def taken_over(work):
    """Work, after which it is seen whether another may take the job over."""
    taken = []

    def observed(tally, claim):
        work(tally)
        taken.append(jobs.take(stored(tally)) is not None)

    work_by(observed)
    return taken


@pytest.mark.usefixtures("quick_heart")
def test_the_heart_keeps_the_lease_up_while_the_work_takes_longer(time_machine):
    def most_of_a_lease(tally):
        time_machine.move_to(now() + 0.7 * Tally.LEASE)
        latest = now() + 0.9 * Tally.LEASE
        wait_until(lambda: lease_of(tally) > latest, "The next beat")

    def work(tally):
        most_of_a_lease(tally)
        most_of_a_lease(tally)

    tally, taken = Tally.objects.create(), taken_over(work)

    assert run(tally) is Outcome.DONE
    assert taken == [False]


@pytest.mark.usefixtures("quick_heart")
def test_the_heart_stops_at_the_time_limit_so_that_work_that_hangs_is_taken_over(monkeypatch, time_machine):
    """The control for the test above, too: without a heart the lease ends."""
    monkeypatch.setattr(Tally, "TIME_LIMIT", timedelta(0))
    tally, taken = (
        Tally.objects.create(),
        taken_over(lambda _: time_machine.move_to(now() + 1.4 * Tally.LEASE)),
    )

    assert run(tally) is Outcome.LOST
    assert taken == [True]


def test_the_newest_that_was_asked_for_comes_first():
    work_by(add_one)
    first, second = Tally.objects.create(), Tally.objects.create()

    newest = jobs.newest_asked("core.Tally")
    jobs.requeue(Tally.objects.filter(pk=first.pk))

    assert (newest, jobs.newest_asked("core.Tally")) == (second.pk, first.pk)


def test_what_is_at_work_or_done_was_not_just_asked_for():
    work_by(add_one)
    done, held = Tally.objects.create(), Tally.objects.create()
    run(done)
    jobs.take(held)

    assert jobs.newest_asked("core.Tally") is None


def test_what_failed_waits_for_the_sweep_and_not_for_the_next_look():
    """Else work that fails would be tried as often as it may be within seconds."""
    work_by(lambda tally, claim: 1 / 0)
    tally = Tally.objects.create()
    with pytest.raises(ZeroDivisionError):
        run(tally)

    assert stored(tally).state == "waiting"
    assert jobs.newest_asked("core.Tally") is None
    jobs.requeue(Tally.objects.all())
    assert jobs.newest_asked("core.Tally") == tally.pk


def test_what_was_put_back_by_a_process_that_ends_is_taken_by_the_next_look():
    def told_to_end(tally, claim):
        raise SystemExit(0)

    work_by(told_to_end)
    tally = Tally.objects.create()
    with pytest.raises(SystemExit):
        run(tally)

    assert jobs.newest_asked("core.Tally") == tally.pk
