"""Background work that every app shares: jobs are delivered by their model and id, and what was left is swept up."""

from celery import shared_task

from core.services import jobs


@shared_task
def run_job(label: str, pk: str) -> str:
    """Do one job, if it is to be done and nobody is at it. Safe to deliver twice."""
    return jobs.run(label, pk).value


@shared_task
def sweep() -> int:
    """Every few minutes: deliver again what was left, give up what died too often."""
    return jobs.sweep()


def deliver(label: str, pk: str) -> None:
    """Have a job done at once in this process, or by a worker where there is a broker."""
    run_job.delay(label, pk)
