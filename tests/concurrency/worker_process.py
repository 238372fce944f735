"""One Celery worker, watched.

It notes each forecast it computes and each job delivered to it in the log file. Flags:

    hangs      never ends a forecast it has begun
    third      never ends the third forecast it has begun
    slow       takes a while over each forecast
    unclaimed  works without a claim, for a control
    unexpired  takes no lease to be over, for a control
    slowfit    takes a while over each fit
"""

import os
import time
from datetime import timedelta

from tests.concurrency.forks import say_into

HANGING_LEASE_S = 8.0
A_WHILE_S = 2.0


def note(log, word, key):
    """Add a line; short ones arrive whole, whoever else writes."""
    with open(log, "a") as file:
        file.write(f"{word} {os.getpid()} {key}\n")


def mine(log):
    """How many forecasts this process has begun."""
    with open(log) as file:
        return sum(line.split()[:2] == ["computed", str(os.getpid())] for line in file)


def watch(log, flags):
    """Put the notes and the flags' faults into the program."""
    from core.models.jobs import JobQuerySet
    from core.services import jobs
    from maintenance.models import Forecast
    from maintenance.services import fits, forecasts

    think, run = forecasts.compute_forecast, jobs.run

    def compute(known):
        note(log, "computed", known.surface.pk)
        while "hangs" in flags or ("third" in flags and mine(log) == 3):
            time.sleep(60)
        if "slow" in flags:
            time.sleep(A_WHILE_S)
        return think(known)

    def delivered(label, pk):
        note(log, "delivered", pk)
        return run(label, pk)

    forecasts.compute_forecast, jobs.run = compute, delivered
    if "hangs" in flags or "third" in flags:
        Forecast.LEASE = timedelta(seconds=HANGING_LEASE_S)
    if "unclaimed" in flags:
        jobs.take = without_condition(jobs)
    if "unexpired" in flags:
        JobQuerySet.free = lambda rows, at: rows.exclude(state="running")
    if "slowfit" in flags:
        fits.api.fit_portfolio = slowed(fits.api.fit_portfolio)


def slowed(call):
    """The same call, after a while."""

    def late(*args):
        time.sleep(2 * A_WHILE_S)
        return call(*args)

    return late


def without_condition(jobs):
    """A claim that asks nothing, as a program would have it that reads, sees the job waiting, and writes."""

    def take(job):
        type(job).objects.filter(pk=job.pk).update(state="running")
        return jobs.Claim(job, job.claim_number, 1)

    return take


def work(log, flags):
    """Be that worker, until this process is killed."""
    say_into(os.devnull, 1)
    from tests.concurrency.loaded import app

    watch(log, flags)
    app.worker_main(
        ["worker", "--pool", "solo", "--loglevel", "WARNING", "--hostname", f"worker{os.getpid()}@%h"]
    )
