"""Background work that every app shares: jobs are delivered by their model and id, and what was left is swept up."""

from threading import Thread

from celery import current_app, shared_task
from django.db import connections
from django.utils.timezone import now

from core.services import batches, jobs

# A sweep comes each minute; what one has set going goes on until the next has taken over.
BATCHES_FOR_S = 90.0
SOON_S = 2.0  # what is done by then is on the page that comes next
AT_ONCE = (
    4  # batches that one sweep sets going; more workers than that are kept busy by the sweeps that follow
)


@shared_task
def run_job(label: str, pk: str) -> str:
    """Do one job, if it is to be done and nobody is at it. Safe to deliver twice."""
    return jobs.run(label, pk).value


@shared_task
def run_batches(label: str, until_s: float) -> int:
    """Do a batch of jobs and then queue up again, behind what came meanwhile; returns how many jobs were begun.

    Without a broker there is no queue, and batch follows batch. until_s: Unix time after which no batch is begun.
    """
    count = batches.run_batch(label)
    while count and now().timestamp() < until_s:
        if not current_app.conf.task_always_eager:
            run_batches.delay(label, until_s)
            break
        more = batches.run_batch(label)
        if not more:
            break
        count += more
    return count


@shared_task
def sweep() -> int:
    """Every few minutes: deliver again what was left, give up what died too often."""
    return jobs.sweep()


def deliver(label: str, pk: str) -> None:
    """Have a job done at once in this process, or by a worker where there is a broker."""
    run_job.delay(label, pk)


def deliver_beside(label: str, pk: str) -> None:
    """Have a long job done by a worker, or where there is no broker by a thread, so that the page comes at once.

    A thread that ends with its process loses nothing: the sweep finds the job once its lease is over.
    """
    if current_app.conf.task_always_eager:
        thread = Thread(target=_deliver_here, args=(label, pk), name=f"job {pk}", daemon=True)
        thread.start()
        thread.join(SOON_S)
    else:
        deliver(label, pk)


def _deliver_here(label: str, pk: str) -> None:
    try:
        deliver(label, pk)
    finally:
        connections.close_all()  # those of this thread


def deliver_batches(label: str) -> None:
    """Have jobs of a kind done in batches: in this process, or by several workers where there is a broker."""
    for _ in range(1 if current_app.conf.task_always_eager else AT_ONCE):
        run_batches.delay(label, now().timestamp() + BATCHES_FOR_S)
