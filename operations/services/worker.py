"""Does what people asked for, where no Celery worker does: in one process of its own, beside the web server.

Of each kind of jobs one is done after the other, and each kind by itself: a forecast waits neither for a mail nor for
an import, and none of them for the night, which is the scheduler's. Nothing but the rows says what is to be done; a
wake only makes it quick. What was begun and left is the sweep's.
"""

import logging
import os
from threading import Event, Thread
from time import monotonic

from django.db import close_old_connections, connections

from core import tasks
from core.services import jobs
from operations.services.wakes import wait_for_wake

log = logging.getLogger(__name__)

PAUSE_S = 1.0  # a wake that got lost costs no more
END_S = 10.0  # for what is being done when the process is told to end


class Lane:
    """What was asked for of one kind, done one after the other by a thread that ends when nothing is left."""

    def __init__(self, label: str, ending: Event) -> None:
        self.label, self._ending = label, ending
        self._thread: Thread | None = None
        self._in_batches = False
        self._last: object = None

    def ask_for_batches(self) -> None:
        """Have whatever is to be done of the kind done, behind what people asked for."""
        self._in_batches = True

    def look(self) -> None:
        """Begin where there is something to do and nobody is at it."""
        busy = self._thread is not None and self._thread.is_alive()
        if not busy and (self._in_batches or jobs.newest_asked(self.label)):
            self._thread = Thread(target=self._work, name=self.label, daemon=True)
            self._thread.start()

    def join(self, until: float) -> None:
        """Wait for what is being done. until: by `monotonic`."""
        if self._thread is not None:
            self._thread.join(max(0.0, until - monotonic()))

    def _work(self) -> None:
        try:
            while not self._ending.is_set() and self._turn():
                pass
        except Exception:  # the database is away: the next look begins anew
            log.exception("The work on %s stopped and is taken up again.", self.label)
        finally:
            connections.close_all()  # those of this thread

    def _turn(self) -> bool:
        """One job or one batch; False when nothing is left."""
        pk = jobs.newest_asked(self.label)
        if pk is None:
            return self._batch()
        if pk == self._last:  # it is as before: somebody else's, or to be tried in a while
            self._ending.wait(PAUSE_S)
        self._last = pk
        tasks.deliver(self.label, str(pk))
        return True

    def _batch(self) -> bool:
        if not self._in_batches:
            return False
        done = tasks.run_batches.delay(self.label, 0.0)
        self._in_batches = done.successful() and bool(done.result)  # else the sweep looks again
        return True


class Worker:
    """All lanes of this process. What is asked for within it is found by the look that follows."""

    def __init__(self) -> None:
        self._ending = Event()
        self.lanes = {label: Lane(label, self._ending) for label in jobs.labels()}

    def take_deliveries(self) -> None:
        """Have what is asked for in this process done by its lanes."""
        jobs.deliver_by(lambda label, pk: None, lambda label: self.lanes[label].ask_for_batches())

    def look(self) -> None:
        """Have each lane begin that has something to do."""
        try:
            for lane in self.lanes.values():
                lane.look()
        except Exception:  # one bad look must not end those to come
            log.exception("What is to be done could not be read; it is looked for again.")
        close_old_connections()

    def end(self) -> None:
        """Begin nothing more, and give what is being done some time."""
        self._ending.set()
        until = monotonic() + END_S
        for lane in self.lanes.values():
            lane.join(until)


def run_worker(woken: int | None, parent: int | None = None) -> None:
    """Work until the process is told to end, or the process `parent` is gone. woken: where it is woken, if anywhere."""
    worker = Worker()
    worker.take_deliveries()
    try:
        while parent is None or os.getppid() == parent:
            worker.look()
            wait_for_wake(woken, PAUSE_S)
    finally:
        worker.end()
