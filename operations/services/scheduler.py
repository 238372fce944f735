"""Does by the clock what the timetable says, where no Celery beat does: in one process of its own."""

import logging
import os
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta

from celery import current_app
from django.db import close_old_connections
from django.utils.timezone import now

from operations.calc.timetable import TIMETABLE, Entry
from operations.services import task_log

log = logging.getLogger(__name__)

AGAIN_AFTER = timedelta(minutes=5)
PAUSE_S = 1.0


class Scheduler:
    """Decides what is due and has it done, one after the other, in the order of the timetable.

    clock, run: give the time now and do a task by its name; passed in so that a test can hold them.
    """

    def __init__(
        self,
        run: Callable[[str], object],
        clock: Callable[[], datetime] = now,
        timetable: Sequence[Entry] = TIMETABLE,
    ) -> None:
        self.run, self.clock, self._looked = run, clock, clock()
        # At the start everything is due whose time has come today: what the server slept through is caught up with.
        midnight = clock().astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
        just_before = midnight - timedelta(microseconds=1)
        self._due = {entry: entry.next_after(just_before) for entry in timetable}

    def turn(self) -> list[str]:
        """Do what is due; returns the names of what was done. What fails is tried again soon."""
        self._heed_clock()
        done = []
        for entry in [entry for entry, due in self._due.items() if due <= self.clock()]:
            begun = self.clock()
            self._due[entry] = begun + AGAIN_AFTER
            try:
                self.run(entry.task)
            except Exception:  # one bad turn must not end the nights to come
                log.exception("%r failed and is tried again in %s.", entry.name, AGAIN_AFTER)
                continue
            self._due[entry] = entry.next_after(begun)  # what takes longer than its pause goes on at once
            done.append(entry.name)
        return done

    def _heed_clock(self) -> None:
        """After the clock was put back nothing waits until it has come again to where it was."""
        at = self.clock()
        if at < self._looked:
            log.warning("The clock went back by %s.", self._looked - at)
            self._due = {entry: min(due, entry.next_after(at)) for entry, due in self._due.items()}
        self._looked = at


def run_task(name: str) -> None:
    """Do a task by its name in this process."""
    if name not in current_app.tasks:  # a worker has its tasks at hand, other processes look them up once
        current_app.loader.import_default_modules()
    with task_log.named(name):
        current_app.tasks[name]()


def run_schedule(parent: int | None = None) -> None:
    """Follow the timetable until the process is told to end, or the process `parent` is gone."""
    scheduler = Scheduler(run_task)
    while parent is None or os.getppid() == parent:
        scheduler.turn()
        close_old_connections()
        time.sleep(PAUSE_S)
