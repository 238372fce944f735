"""Starts the programs that a server is made of, starts again one that dies, and ends them all with itself."""

import logging
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from types import FrameType

log = logging.getLogger(__name__)

LOOK_EVERY_S = 0.2
FIRST_PAUSE_S = 1.0
LONGEST_PAUSE_S = 60.0
LIVED_S = 60.0  # a helper that lived so long before it died is started again without waiting longer
BEHIND_PAGES = 10  # niceness: about a tenth of a core where a page wants it, all of it where none does
GRACE_S = 30.0  # gunicorn lets requests end for as long


def stand_beside(parent: int | None) -> None:
    """Have this process leave by itself when it is told to end, so that work at hand is put back for somebody else.

    Beside a web server, whose process is the parent, it takes the processor behind the pages that people wait for.
    """
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, _leave)
    if parent is not None:
        os.nice(BEHIND_PAGES)


def _leave(number: int, frame: FrameType | None) -> None:
    sys.exit(0)


@dataclass(frozen=True)
class Program:
    """A command, and the file descriptors that are passed on to it under the same numbers."""

    command: Sequence[str]
    passes: Sequence[int] = ()

    def start(self) -> subprocess.Popen[bytes]:
        """A process of it."""
        return subprocess.Popen(self.command, pass_fds=self.passes)


@dataclass
class Helper:
    """A program that is started again when it dies, after a pause that doubles while it keeps dying at once."""

    program: Program
    process: subprocess.Popen[bytes] | None = None
    started_at: float = 0.0
    pause_s: float = 0.0
    start_at: float = 0.0

    def look(self) -> None:
        """Start it when it is time, and plan the next start when it has died."""
        if self.process is None:
            if time.monotonic() >= self.start_at:
                self.process, self.started_at = self.program.start(), time.monotonic()
        elif self.process.poll() is not None:
            self._plan_start(self.process.returncode)

    def _plan_start(self, code: int) -> None:
        lived_s = time.monotonic() - self.started_at
        longer_s = 2 * self.pause_s if lived_s < LIVED_S else 0.0
        self.pause_s = min(max(longer_s, FIRST_PAUSE_S), LONGEST_PAUSE_S)
        said = "%s ended with %s and is started again in %g s."
        log.error(said, " ".join(self.program.command), code, self.pause_s)
        self.process, self.start_at = None, time.monotonic() + self.pause_s


class Supervisor:
    """A main program and its helpers. Ends when the main program does, or when the process is told to.

    No threads, so that nothing is forked from among them. The programs watch for the end of this process themselves,
    since it may be killed without a word.
    """

    def __init__(self, main: Program, helpers: Sequence[Program]) -> None:
        self.main, self.helpers = main, [Helper(program) for program in helpers]
        self._ending = False

    def run(self) -> int:
        """The exit status of the main program; 0 when told to end."""
        before = {number: signal.signal(number, self._end) for number in (signal.SIGTERM, signal.SIGINT)}
        main = self.main.start()
        try:
            while not self._ending and main.poll() is None:
                for helper in self.helpers:
                    helper.look()
                time.sleep(LOOK_EVERY_S)
        finally:
            end_all([main, *(helper.process for helper in self.helpers if helper.process)])
            for number, handler in before.items():
                signal.signal(number, handler)
        return 0 if self._ending else main.returncode

    def _end(self, number: int, frame: FrameType | None) -> None:
        self._ending = True


def end_all(processes: Sequence[subprocess.Popen[bytes]]) -> None:
    """Ask every process to end, and make those end that have not within GRACE_S."""
    for process in processes:
        process.terminate()
    until = time.monotonic() + GRACE_S
    for process in processes:
        try:
            process.wait(max(0.0, until - time.monotonic()))
        except subprocess.TimeoutExpired:
            log.warning("%s did not end within %g s and is killed.", process.args, GRACE_S)
            process.kill()
            process.wait()
