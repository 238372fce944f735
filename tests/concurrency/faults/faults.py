"""The faults: each a block that begins when the cause is gone, with the work still to be done.

`control` takes away what the product does about it. What a block gives is called at its end, for a word to print.
"""

import os
import signal
from contextlib import contextmanager, suppress
from time import sleep

from django.db import DatabaseError, connections
from django.test import Client

from tests.concurrency.faults import work
from tests.concurrency.patience import wait_until

AWAY_S, FULL_S = 10.0, 20.0
HOUR_S = 3600


ALL = {model._meta.label for model in work.KINDS}
SWEPT = "reporting.Sending"  # the mail of a document is found by the sweep alone


def ask_until_begun(drill, asking, kinds=ALL):
    """Ask for all, and come back when work of each kind is in the hands of workers, which hold it."""
    drill.close()
    work.ask(asking)
    drill.wait_for(kinds)


def begun_by(drill, group):
    ended = {tuple(key) for *key, by in drill.notes("ended") if by == group}
    return len({tuple(key) for *key, by in drill.notes("begun") if by == group} - ended)


@contextmanager
def worker_killed(drill, asking, control):
    flags = ("held", "unexpired") if control else ("held",)
    with drill.programs(("worker", *flags), ("worker", *flags), ("clock",)) as (first, *_):
        ask_until_begun(drill, asking)
        count = begun_by(drill, first.group)
        first.kill()
        drill.open()
        yield lambda: f"{count} pieces of work were in the hands of the one that was killed"


@contextmanager
def killed_over_a_mail(drill, asking, control):
    flags = ("unguarded",) if control else ()
    with drill.programs(("worker",)) as (first,), drill.programs(("clock",)):
        drill.inbox.hold_answers()
        work.ask(asking)
        wait_until(lambda: drill.inbox.mails, "a mail has come")
        first.kill()
        drill.inbox.answer()
        with drill.programs(("worker", *flags)):
            yield lambda: "of a mail whose answer was cut off the office reads that it may have come"


@contextmanager
def redis_emptied(drill, asking, control):
    clock = ("clock", "unswept") if control else ("clock",)
    with drill.programs(("worker", "held", "few"), ("worker", "held", "few"), clock):
        drill.close()
        work.ask(asking)
        wait_until(lambda: len(drill.notes("begun")) >= 2, "both workers are at work")
        drill.flush_redis()
        drill.open()
        yield lambda: "two pieces of work were begun, the others waited in Redis"


@contextmanager
def postgres_stopped(drill, asking, control):
    clock = ("clock", "unswept") if control else ("clock",)
    with drill.programs(("worker", "held"), ("worker", "held"), clock):
        ask_until_begun(drill, asking, ALL - {SWEPT} if control else ALL)
        connections["default"].close()
        drill.database.stop()
        drill.open()
        asked_in_vain(asking)
        pages = [ready_page()]
        sleep(AWAY_S)
        drill.database.start()
        connections["default"].close()
        pages.append(ready_page())
        yield lambda: f"/ready/ said {pages[0]} meanwhile and {pages[1]} at once after it"


def asked_in_vain(asking):
    with suppress(DatabaseError):
        work.ask(asking)
        raise AssertionError("Work was asked for without a database.")
    connections["default"].close()


def ready_page():
    return Client().get("/ready/").status_code


@contextmanager
def delivered_twice(drill, asking, control):
    flags = ("twice", "unclaimed") if control else ("twice",)
    with drill.programs(("worker", "held", *flags), ("worker", "held", *flags), ("clock", "twice")):
        drill.close()
        with sent_twice():
            work.ask(asking)
        wait_until(lambda: len(drill.notes("begun")) >= 2, "both workers are at work")
        drill.open()
        yield lambda: f"{len(drill.notes('begun'))} pieces of work were begun"


@contextmanager
def sent_twice():
    """What this process asks for is sent twice, too."""
    from core import tasks

    once = tasks.run_job.apply_async

    def both(*args, **kwargs):
        once(*args, **kwargs)
        return once(*args, **kwargs)

    tasks.run_job.apply_async = both
    try:
        yield
    finally:
        del tasks.run_job.apply_async


@contextmanager
def web_process_killed(drill, asking, control):
    clock = ("clock", "unswept") if control else ("clock",)
    with drill.programs(("worker",), ("worker",), clock):
        assert drill.program("web").ended_by() == signal.SIGKILL
        yield None


@contextmanager
def disk_full(drill, asking, control):
    flags = ("held", "counted") if control else ("held",)
    with drill.programs(("worker", *flags), ("worker", *flags), ("clock",)):
        ask_until_begun(drill, asking)
        filler = fill(drill.room)
        drill.open()
        page = ready_page()
        sleep(FULL_S if drill.quick else 3 * FULL_S)
        filler.unlink()
        with suppress(AssertionError):  # it may have ended itself over its own files
            drill.database.start()
        connections["default"].close()
        yield lambda: f"/ready/ said {page} meanwhile"


def fill(room):
    """Write until there is none."""
    filler = room / "filler"
    with filler.open("wb") as file, suppress(OSError):
        for size in (1 << 20, 4096, 1):
            with suppress(OSError):
                while True:
                    os.write(file.fileno(), b"\0" * size)
    return filler


@contextmanager
def clock_back(drill, asking, control):
    flags = ("held", "shifts", *(("trusting",) if control else ()))
    clock = ("clock", "shifts", *(("trusting",) if control else ()))
    with drill.programs(("worker", *flags), ("worker", *flags), clock) as (first, *_):
        ask_until_begun(drill, asking)
        first.kill()
        shift(drill, -HOUR_S, clocks=5)
        drill.open()
        yield lambda: "by the new time the leases of the killed one end in an hour"


@contextmanager
def clock_forward(drill, asking, control):
    more = ("unclaimed",) if control else ()
    held = ("worker", "held", *more)
    with drill.programs(held, held, ("clock", "shifts")):
        ask_until_begun(drill, asking, {"reporting.MessageMail"})
        with drill.programs(("worker", "shifts", *more)):
            shift(drill, HOUR_S, clocks=5)
            yield lambda: come_late(drill)


def come_late(drill):
    """The workers whose leases were over by the other clock go on once the work was done by another."""
    ended = len(drill.notes("ended"))
    late = len(drill.notes("begun")) - ended
    drill.open()
    wait_until(lambda: len(drill.notes("ended")) >= ended + late, "the late one is done")
    return f"{late} pieces of work were done by two, and what came late was not stored"


def shift(drill, seconds, clocks):
    """Move them: that of the clock's process, and of each process of a worker."""
    waits = drill.folder / "shift.new"
    waits.write_text(str(seconds))
    waits.rename(drill.folder / "shift")
    wait_until(lambda: len(drill.notes("shifted")) >= clocks, "the clocks have moved")


BLOCKS = {
    "killed": worker_killed,
    "mail": killed_over_a_mail,
    "redis": redis_emptied,
    "postgres": postgres_stopped,
    "twice": delivered_twice,
    "web": web_process_killed,
    "disk": disk_full,
    "back": clock_back,
    "forward": clock_forward,
}
