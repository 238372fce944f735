"""Faults, one after the other, over a firm whose work two workers do, on a real Redis, PostgreSQL and mail server.

Each fault is lived through twice: by the product, and by a control from which is taken what the product does about it.
"""

import os
import signal
import time
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from django.db import connections
from redis import Redis

from tests.concurrency.faults import process, work
from tests.concurrency.faults.faults import BLOCKS
from tests.concurrency.faults.names import FAULTS
from tests.concurrency.forks import started
from tests.concurrency.inbox import Inbox
from tests.concurrency.patience import wait_until
from tests.concurrency.servers import Postgres
from tests.databases import as_default

CONTROL_WAITS_S = 15.0  # quick leases, and five sweeps; no control needs more to show its loss


class Program:
    """A worker or the clock with its processes; killed with all of them, as by a machine that goes off."""

    def __init__(self, *begun_with):
        self._process = started(process.begin, *begun_with)
        self.group = str(self._process.pid)

    @property
    def is_alive(self):
        return self._process.is_alive()

    def kill(self):
        if self._process.is_alive():
            with suppress(ProcessLookupError):  # before it has made its group
                os.killpg(self._process.pid, signal.SIGKILL)
            self._process.kill()
        self._process.join()

    def ended_by(self):
        """The signal that ended it, once it has."""
        self._process.join()
        return -self._process.exitcode


@dataclass
class Drill:
    """What a fault can be put into. quick: see process.py.

    room: where database and data lie, which may be filled; folder: of the fault, with the log of all programs.
    """

    database: Postgres
    redis_port: int
    inbox: Inbox
    room: Path
    folder: Path
    quick: bool

    @property
    def database_name(self):
        return f"drill_{self.folder.name}"

    def program(self, what, *flags):
        quick = ("quick",) if self.quick else ()
        timetable = self.room / f"timetable-{self.folder.name}"
        return Program(what, self.folder, (*flags, *quick), self.settings, timetable)

    @property
    def settings(self):
        """Those of its database."""
        return connections.settings["default"] | {"NAME": self.database_name}

    @contextmanager
    def programs(self, *given):
        """Programs that are up, by what they are and their flags; killed with the block."""
        ready = len(self.notes("ready"))
        up = [self.program(what, *flags) for what, *flags in given]
        try:
            wait_until(lambda: self._are_up(up, ready), f"{given}")
            yield up
        finally:
            for program in up:
                program.kill()

    def _are_up(self, programs, ready):
        said = (self.folder / "said").read_text(errors="replace")[-2000:]
        assert all(program.is_alive for program in programs), said
        return len(self.notes("ready")) == ready + len(programs)

    def notes(self, word):
        """The lines of the log that tell of that, without the word; the group comes last."""
        log = self.folder / "log"
        lines = log.read_text().split("\n") if log.exists() else []
        return [tuple(line.split()[1:]) for line in lines if line.startswith(f"{word} ")]

    def close(self):
        (self.folder / "closed").touch()

    def open(self):
        (self.folder / "closed").unlink()

    def flush_redis(self):
        Redis(port=self.redis_port).flushall()

    def wait_for(self, kinds):
        """Wait until work of each of these kinds is begun."""
        wait_until(
            lambda: {label for label, *_ in self.notes("begun")} >= set(kinds), f"work of each of {kinds}"
        )


@dataclass(frozen=True)
class Told:
    """How a fault went: what became of the work, after how long, and what there is to say."""

    lines: dict
    took_s: float
    word: str

    def shows(self, fault):
        """Whether it shows, as a control, what becomes of the work."""
        doubled = any(line.twice for line in self.lines.values())
        return doubled if fault.doubles else not self.is_right

    @property
    def is_right(self):
        return all(line.is_right for line in self.lines.values())


def lived_through(drill, name, *, control):
    """Live through a fault by its name, on a database of its own, made from the one that has the tables."""
    drill.folder.mkdir()
    (drill.folder / "said").touch()
    drill.inbox.mails.clear()
    drill.flush_redis()
    connections["default"].close()
    drill.database.copy(drill.database_name)
    with as_default(drill.settings):
        asking = work.new_firm()
        (drill.folder / "firm").write_text(str(asking.firm.pk))
        with BLOCKS[name](drill, asking, control) as word:
            begun = time.monotonic()
            settle(asking.firm, CONTROL_WAITS_S if control and not FAULTS[name].doubles else None)
            took_s = time.monotonic() - begun
            word = word() if word else ""
        return Told(work.outcome(asking.firm, drill.inbox.mails), took_s, word)


def settle(firm, at_most_s):
    """Wait until nothing is left to be done; of a control, not for ever."""
    until = time.monotonic() + (at_most_s or float("inf"))
    wait_until(lambda: time.monotonic() > until or work.settled(firm), "an end of the work")
