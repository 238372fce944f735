"""Jobs done some at a time: claimed at once, ended one by one, shared out fairly."""

from contextlib import contextmanager
from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.db import connection, models
from django.test.utils import isolate_apps
from django.utils.timezone import now

from core import tasks
from core.models.jobs import Job, JobQuerySet
from core.models.rows import Row
from core.services import batches, jobs

pytestmark = pytest.mark.django_db
LABEL = "core.Sum"

with isolate_apps("core"):

    class Sum(Row, Job):
        """A number that a batch raises by what was gathered for it, done for somebody."""

        number = models.IntegerField(default=0)
        firm = models.CharField(max_length=10)

        objects = JobQuerySet.as_manager()

        class Meta:
            app_label = "core"

        def __str__(self):
            return f"sum of {self.firm}"


@pytest.fixture(scope="module", autouse=True)
def _table(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock():
        with connection.schema_editor() as editor:
            editor.create_model(Sum)
        yield
        with connection.schema_editor() as editor:
            editor.delete_model(Sum)


@pytest.fixture(autouse=True)
def _kinds(monkeypatch):
    monkeypatch.setattr(jobs, "_KINDS", {})


@pytest.fixture
def gathered():
    """How many jobs each look at what they need was for."""
    return []


@pytest.fixture
def worked(gathered):
    """Registers the work; collects for whom it was done."""
    order = []

    def gather(batch):
        gathered.append(len(batch))
        return {job.pk: 7 for job in batch}

    def work(job, claim, known):
        order.append(job.firm)
        claim.finish(number=known)

    jobs.works_on(Sum, gather=gather, shared_by="firm")(work)
    return order


def work_by(work):
    jobs.works_on(Sum, gather=lambda batch: {job.pk: 7 for job in batch}, shared_by="firm")(work)


def asked_for(firm, count):
    rows = [Sum.objects.create(firm=firm) for _ in range(count)]
    for number, row in enumerate(rows):
        Sum.objects.filter(pk=row.pk).update(created_at=now() + timedelta(seconds=number))
    return rows


def states():
    return list(Sum.objects.order_by("created_at").values_list("state", "number", "attempts"))


def test_a_batch_reads_once_for_all_and_ends_each(worked, gathered):
    asked_for("a", 3)

    count = batches.run_batch(LABEL)

    assert (count, gathered) == (3, [3])
    assert states() == [("done", 7, 0)] * 3
    assert batches.run_batch(LABEL) == 0


def test_a_batch_is_claimed_by_as_many_queries_however_many_jobs_it_has(
    worked, django_assert_num_queries, django_assert_max_num_queries
):
    kind = jobs.kind_of(LABEL)
    asked_for("a", 1)
    with django_assert_max_num_queries(12) as for_one:
        batches._take_some(kind)
    asked_for("a", 15)

    with django_assert_num_queries(len(for_one)):
        assert len(batches._take_some(kind)) == 15


def test_one_that_fails_is_given_back_and_its_neighbours_are_done():
    odd = asked_for("a", 3)[1]

    def work(job, claim, known):
        if job.pk == odd.pk:
            raise RuntimeError("out of memory")
        claim.finish(number=known)

    work_by(work)

    batches.run_batch(LABEL)

    assert states() == [("done", 7, 0), ("waiting", 0, 1), ("done", 7, 0)]


def test_what_cannot_be_read_at_once_is_read_one_by_one():
    odd, fine = asked_for("a", 2)

    def gather(batch):
        if odd.pk in {job.pk for job in batch}:
            raise ValueError("a plan that cannot be read")
        return {job.pk: 7 for job in batch}

    jobs.works_on(Sum, gather=gather, shared_by="firm")(lambda job, claim, known: claim.finish(number=known))

    batches.run_batch(LABEL)

    assert states() == [("waiting", 0, 1), ("done", 7, 0)]


def test_told_to_end_half_way_what_was_done_stays_and_the_rest_is_free_at_once():
    asked_for("a", 4)
    begun = []

    def work(job, claim, known):
        begun.append(job.pk)
        if len(begun) == 2:
            raise SystemExit
        claim.finish(number=known)

    work_by(work)

    with pytest.raises(SystemExit):
        batches.run_batch(LABEL)

    assert states() == [("done", 7, 0)] + [("waiting", 0, 0)] * 3
    assert Sum.objects.free(now()).filter(state="waiting").count() == 3


def killed_half_way(count):
    """Claims as a worker leaves them that was killed over the second job."""
    held = batches._take_some(jobs.kind_of(LABEL))
    assert len(held) == count
    (_, first), (_, second), *_ = held
    first.begin()
    first.finish(number=7)
    second.begin()


def test_after_a_kill_the_rest_is_taken_up_when_the_leases_have_run_out(worked):
    asked_for("a", 4)
    killed_half_way(4)

    at_once = batches.run_batch(LABEL)
    Sum.objects.filter(state="running").update(lease_until=now() - timedelta(seconds=1))
    later = batches.run_batch(LABEL)

    assert (at_once, later) == (0, 3)
    assert states() == [("done", 7, 0)] * 4


def test_a_job_that_kills_its_workers_uses_up_no_attempts_but_its_own(worked):
    asked_for("a", 4)
    for _ in range(Sum.MOST_ATTEMPTS):
        held = batches._take_some(jobs.kind_of(LABEL))
        held[0][1].begin()  # and then the worker is gone
        Sum.objects.filter(state="running").update(lease_until=now() - timedelta(seconds=1))

    jobs.sweep()

    assert states() == [("failed", 0, Sum.MOST_ATTEMPTS)] + [("done", 7, 0)] * 3


def test_a_claim_that_was_lost_before_its_turn_writes_nothing():
    first, second = asked_for("a", 2)

    def work(job, claim, known):
        if job.pk == first.pk:
            jobs.requeue(Sum.objects.filter(pk=second.pk))
        claim.finish(number=known)

    work_by(work)

    batches.run_batch(LABEL)

    assert states() == [("done", 7, 0), ("waiting", 0, 0)]


def test_what_somebody_else_claims_between_the_look_and_the_claim_is_theirs(worked, monkeypatch):
    theirs, mine = asked_for("a", 2)
    atomic = batches.transaction.atomic

    @contextmanager
    def after_another():
        jobs.take(Sum.objects.get(pk=theirs.pk)).finish(number=1)
        Sum.objects.filter(pk=theirs.pk).update(state="waiting")  # and it was asked for once more
        with atomic():
            yield

    with monkeypatch.context() as patched:
        patched.setattr(batches.transaction, "atomic", after_another)
        held = batches._take_some(jobs.kind_of(LABEL))

    assert [job.pk for job, _ in held] == [mine.pk]


def test_a_batch_that_takes_long_lets_go_of_what_it_has_not_begun(worked, monkeypatch):
    monkeypatch.setattr(batches, "LONGEST_S", -1.0)
    asked_for("a", 3)

    assert batches.run_batch(LABEL) == 1
    assert states() == [("done", 7, 0)] + [("waiting", 0, 0)] * 2


def test_the_batches_of_firms_take_turns_so_that_a_small_one_does_not_wait_for_a_large_one(worked):
    asked_for("large", 3 * batches.MOST)
    asked_for("small", 2)
    asked_for("middle", batches.MOST + 1)

    while batches.run_batch(LABEL):
        pass

    served = [firm for n, firm in enumerate(worked) if n == 0 or worked[n - 1] != firm]
    assert set(served[:3]) == {"large", "small", "middle"}
    assert set(served[3:5]) == {"large", "middle"}
    assert len(worked) == 4 * batches.MOST + 3


def test_a_second_worker_serves_the_firm_that_nobody_is_serving(worked):
    asked_for("large", 2 * batches.MOST)
    asked_for("small", 1)
    kind = jobs.kind_of(LABEL)

    first, second = batches._take_some(kind), batches._take_some(kind)

    assert {job.firm for job, _ in first} != {job.firm for job, _ in second}


def test_the_sweep_has_everything_done_where_there_is_no_broker(worked):
    asked_for("a", batches.MOST + 5)

    assert jobs.sweep() == batches.MOST + 5
    assert {state for state, _, _ in states()} == {"done"}


@pytest.fixture
def broker(monkeypatch, settings):
    """Collects what is queued, as a broker would."""
    queued = []
    monkeypatch.setattr(tasks, "current_app", SimpleNamespace(conf=SimpleNamespace(task_always_eager=False)))
    monkeypatch.setattr(tasks.run_batches, "delay", lambda *args: queued.append(args))
    return queued


def test_with_a_broker_a_batch_queues_up_again_behind_what_came_meanwhile(worked, broker):
    asked_for("a", batches.MOST + 5)
    until_s = now().timestamp() + 60

    counts = [
        tasks.run_batches(LABEL, until_s),
        tasks.run_batches(LABEL, until_s),
        tasks.run_batches(LABEL, until_s),
    ]

    assert counts == [batches.MOST, 5, 0]
    assert broker == [(LABEL, until_s)] * 2


def test_once_the_next_sweep_has_taken_over_a_batch_does_not_queue_up_again(worked, broker):
    asked_for("a", 1)

    assert tasks.run_batches(LABEL, now().timestamp() - 1) == 1
    assert broker == []


def test_a_sweep_sets_a_few_batches_going_however_much_there_is_to_do(worked, broker):
    asked_for("a", 10 * batches.MOST)

    assert jobs.sweep() == 10 * batches.MOST
    assert len(broker) == tasks.AT_ONCE
