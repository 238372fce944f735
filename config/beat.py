"""Celery beat, but one that heeds a clock that was put back."""

import logging
from datetime import datetime
from typing import Any

from celery.beat import PersistentScheduler

log = logging.getLogger(__name__)


class HeedingScheduler(PersistentScheduler):
    """Reckons anew when the clock went back; Celery's own would be silent until it has come to where it was.

    What was run at a time to come, by the clock as it was, counts as run now. That may run a task of the timetable once
    more, which does no harm.
    """

    _looked: datetime | None = None

    def tick(self, *args: Any, **kwargs: Any) -> float:
        """One turn; returns after how many seconds the next is wanted."""
        at = self.app.now()
        if self._looked is None or at < self._looked:
            self._heed(at)
        self._looked = at
        wanted_s: float = super().tick(*args, **kwargs)
        return wanted_s

    def _heed(self, at: datetime) -> None:
        for entry in self.schedule.values():
            if entry.last_run_at and entry.last_run_at > at:
                log.warning(
                    "%r was last run at %s, by a clock that was put back.", entry.name, entry.last_run_at
                )
                entry.last_run_at = at
        self._heap = None  # it is ordered by the clock as it was
