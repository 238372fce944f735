"""The periodic work where no broker is configured: one thread beside the server."""

import logging
import threading
import time
from collections.abc import Callable
from datetime import date, datetime

from django.db import close_old_connections
from django.utils.timezone import now

from maintenance.services import fits, forecasts

log = logging.getLogger(__name__)

EVERY_S = 300.0
NIGHTLY_FROM_H = 2  # UTC


class Schedule:
    """Decides what is due: the sweep at each turn, the night's work once a day.

    clock: gives the time now, passed in so that a test can hold it.
    """

    def __init__(self, clock: Callable[[], datetime] = now) -> None:
        self.clock = clock
        self.last_night: date | None = clock().date()  # a restart by day does not repeat the night

    def turn(self) -> list[str]:
        """Do what is due; returns what was done."""
        done = ["sweep"]
        forecasts.enqueue_stale()
        fits.requeue_orphaned_fits()
        at = self.clock()
        if at.hour >= NIGHTLY_FROM_H and at.date() != self.last_night:
            self.last_night = at.date()
            forecasts.reset_and_enqueue()
            fits.request_all_fits()
            done.append("night")
        return done


def start_in_background() -> threading.Thread:
    """Start the thread; it ends with the process."""
    thread = threading.Thread(target=_run, args=(Schedule(),), name="schedule", daemon=True)
    thread.start()
    return thread


def _run(schedule: Schedule) -> None:
    while True:
        try:
            schedule.turn()
        except Exception:  # one bad turn must not end the nights to come
            log.exception("The periodic work failed and is tried again in %s s.", EVERY_S)
        finally:
            close_old_connections()
        time.sleep(EVERY_S)
