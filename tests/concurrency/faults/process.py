"""One program of a drill: a worker, the clock, or `web`.

A worker or the clock is Celery's own, as in the product. `web` asks for work by the firm whose id is in the folder, and
is killed after the commit, before it has told anybody. Each notes in the folder's log what it begins and ends. Flags:

    quick        leases of some seconds and a sweep every two, so that a control need not last minutes
    few          one piece of work at a time
    held         a piece of work is begun, and waits while the folder has a file `closed`
    shifts       the clock moves by the seconds in the folder's file `shift` once that is there
    twice        every message is sent twice, and each piece of work takes a while

Flags of controls, each of which takes away what the product does about a fault:

    unswept      the clock has nothing swept
    unexpired    no lease is ever over
    unclaimed    no claim is asked for, nor whether a mail was handed over
    unguarded    that a mail was handed over before is not looked at
    counted      a full disk counts as a failure of the work
    trusting     a lease that a clock gave which was put back since holds, and the clock waits until it is there again
"""

import os
import signal
import threading
import time
from datetime import timedelta
from types import SimpleNamespace

import time_machine

from tests.concurrency.forks import say_into

QUICK_LEASE_S, QUICK_SWEEP_S, A_WHILE_S = 5.0, 2.0, 1.0
SWEEP = "send again what was left"
THIS = SimpleNamespace(folder=None, flags=())  # program: its drill's folder, and its flags


def note(*words):
    """Add a line; short ones arrive whole, whoever else writes. The group is the program with its processes."""
    with (THIS.folder / "log").open("a") as file:
        file.write(" ".join([*map(str, words), str(os.getpgrp())]) + "\n")


def watch():
    """Put the notes, and what the flags say, into the program."""
    from core.services import jobs

    do = jobs._do

    def watched(kind, job, claim, known):
        note("begun", job._meta.label, job.pk)
        while "held" in THIS.flags and (THIS.folder / "closed").exists():
            time.sleep(0.05)
        if "twice" in THIS.flags:
            time.sleep(A_WHILE_S)
        if "unguarded" in THIS.flags and hasattr(job, "handed_at"):
            forget_handed(job)
        try:
            return do(kind, job, claim, known)
        finally:
            note("ended", job._meta.label, job.pk)

    jobs._do = watched
    for flag, change in CHANGES.items():
        if flag in THIS.flags:
            change()


def forget_handed(job):
    job.handed_at = None
    type(job).objects.filter(pk=job.pk).update(handed_at=None)


def be_quick():
    from core.models.jobs import Job

    for model in Job.__subclasses__():
        model.LEASE = timedelta(seconds=QUICK_LEASE_S)


def never_expire():
    from core.models.jobs import JobQuerySet

    JobQuerySet.free = lambda rows, at: rows.exclude(state="running")


def ask_no_claim():
    """As a program would have it that reads, sees the job waiting, and writes."""
    from core.services import jobs, mail_jobs

    def take(job):
        type(job).objects.filter(pk=job.pk).update(state="running")
        return jobs.Claim(job, job.claim_number, 1)

    jobs.take, mail_jobs.leaving = take, lambda row, claim, write: write()


def count_full_disks():
    from core.services import jobs

    jobs.is_full = lambda error: False


def trust_the_clock():
    from django.db.models import Q

    from config.celery import app
    from core.models.jobs import JobQuerySet

    JobQuerySet._held = lambda rows, at: Q(state="running", lease_until__gte=at)
    app.conf.beat_scheduler = "celery.beat:PersistentScheduler"


def send_twice():
    from celery.app.task import Task

    once = Task.apply_async

    def both(self, *args, **kwargs):
        once(self, *args, **kwargs)
        return once(self, *args, **kwargs)

    Task.apply_async = both


CHANGES = {
    "quick": be_quick,
    "unexpired": never_expire,
    "unclaimed": ask_no_claim,
    "counted": count_full_disks,
    "trusting": trust_the_clock,
    "twice": send_twice,
}


def shift_when_asked(**_):
    """The clock moves once, as by somebody who puts it right."""

    def wait():
        asked = THIS.folder / "shift"
        while not asked.exists():
            time.sleep(0.05)
        time_machine.travel(time.time() + float(asked.read_text()), tick=True).start()
        note("shifted")

    if "shifts" in THIS.flags:
        threading.Thread(target=wait, daemon=True).start()


def work():
    from celery.signals import worker_process_init, worker_ready

    from config.celery import app

    worker_process_init.connect(shift_when_asked, weak=False)
    worker_ready.connect(lambda **_: note("ready"), weak=False)
    size = "1" if "few" in THIS.flags else "4"
    name = f"worker{os.getpid()}@%h"
    app.worker_main(["worker", "--concurrency", size, "--loglevel", "WARNING", "--hostname", name])


def keep_time():
    from celery.schedules import schedule
    from celery.signals import beat_init

    from config.celery import app

    if "quick" in THIS.flags:
        app.conf.beat_schedule[SWEEP]["schedule"] = schedule(timedelta(seconds=QUICK_SWEEP_S))
    if "unswept" in THIS.flags:
        del app.conf.beat_schedule[SWEEP]
    beat_init.connect(lambda **_: note("ready"), weak=False)
    shift_when_asked()
    app.start(["beat", "--loglevel", "WARNING"])


def ask_and_be_killed():
    from core.services import jobs
    from tests.concurrency.faults.work import ask, firm_of

    def die(*_):
        os.kill(os.getpid(), signal.SIGKILL)

    jobs.deliver_by(die, die)
    ask(firm_of((THIS.folder / "firm").read_text()))


def begin(what, folder, flags, database, timetable):
    """Be that program, in a group of its own, on the database of those settings, until this process is killed.

    timetable: the file in which the clock keeps it.
    """
    os.setsid()
    say_into(folder / "said", 1, 2)
    from tests.concurrency.loaded import app
    from tests.databases import as_default

    THIS.folder, THIS.flags = folder, flags
    app.conf.beat_schedule_filename = str(timetable)
    with as_default(database):
        watch()
        {"worker": work, "clock": keep_time, "web": ask_and_be_killed}[what]()
