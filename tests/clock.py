"""The clock of the tests. Every test starts at the same instant, and time goes on from there.

So no test can tell when it runs, nor how many ran before it. Two variables put the suite elsewhere:

    TEST_CLOCK=2028-02-29T23:59:30Z make test     another instant, in ISO 8601 with its offset; `now` is the real one
    TEST_SITE_ZONE=Pacific/Kiritimati make test   the sites of the factories lie there, where it may be another day

Programs that a test starts (node, a worker, Chromium) keep the machine's clock.
"""

import os
from contextlib import contextmanager
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import time_machine

USUAL = "2026-06-10T12:00:00Z"
ASKED = "TEST_CLOCK"


def instant_of(given):
    """The instant that a text names. Raises ValueError for one without an offset, which names many."""
    instant = datetime.now(UTC) if given == "now" else datetime.fromisoformat(given)
    if instant.tzinfo is None:
        raise ValueError(f"{ASKED} is {given!r}; it needs its offset, such as {USUAL}.")
    return instant


START = instant_of(os.environ.get(ASKED, USUAL))
os.environ[ASKED] = START.isoformat()  # the other processes of this run start at the same one
SITE_ZONE = os.environ.get("TEST_SITE_ZONE", "UTC")
TODAY = START.astimezone(ZoneInfo(SITE_ZONE)).date()  # at the sites of the factories


EARLIER_S = 50.0  # less than a minute: a run at one minute past midnight keeps its day


class Clock:
    """The one traveller of this process; the stamp leaves the zone of the process as it is."""

    def __init__(self):
        self.traveller = time_machine.travel(START.timestamp(), tick=True).start()

    def back_to_start(self):
        self.traveller.move_to(START.timestamp())

    @contextmanager
    def before_the_start(self):
        """Somewhat earlier, for what is made once for several tests: each must find it older than what it does."""
        self.traveller.move_to(START.timestamp() - EARLIER_S)
        yield
        self.back_to_start()
