"""`manage.py serve` as real processes, and who they are."""

import os
import signal
import subprocess
import sys
import time
from urllib.error import URLError
from urllib.request import urlopen

from operations.services.supervisor import GRACE_S
from tests.concurrency.patience import wait_until
from tests.concurrency.servers import ROOT, free_port, server_environment

PATIENCE_S = 300.0
# Whoever does not end within the grace is killed; a loaded machine needs its time for both.
TIME_TO_END_S = 4 * GRACE_S
SCHEDULER, WORKER, PAGES = "schedule", "work", "serve --pages-only"


def processes():
    """Living processes: number, parent and command."""
    listed = subprocess.run(
        ["ps", "-ewwo", "pid=,ppid=,stat=,args="], capture_output=True, text=True, check=True
    ).stdout
    found = {}
    for line in listed.splitlines():
        number, parent, state, command = line.split(None, 3)
        if not state.startswith("Z"):
            found[int(number)] = (int(parent), command)
    return found


def family(of):
    """The processes below one, with their commands."""
    everybody = processes()
    found, around = {}, {of}
    while around:
        around = {number for number, (parent, _) in everybody.items() if parent in around} - found.keys()
        found |= {number: everybody[number][1] for number in around}
    return found


def alive_of(family_before):
    """Those of them that still are: by number and command, since a number is given again to somebody else."""
    everybody = processes()
    return {
        number: command
        for number, command in family_before.items()
        if everybody.get(number, (0, ""))[1] == command
    }


def of_kind(found, kind):
    return [number for number, command in found.items() if f"-m django {kind} " in command]


class Served:
    """A server of its own, in a session of its own, as a shell would start it."""

    def __init__(self, folder):
        self.port = free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        command = [sys.executable, "manage.py", "serve", "--bind", f"127.0.0.1:{self.port}", "--workers", "3"]
        self.process = subprocess.Popen(
            command,
            cwd=ROOT,
            env=server_environment(folder),
            start_new_session=True,
            stderr=(folder / "errors").open("a"),
        )
        wait_until(self.answers, "The server")
        wait_until(lambda: self.of(SCHEDULER) and self.of(WORKER), "Scheduler and worker")
        wait_until(lambda: len(self.family()) == 6, "Three programs and three web workers")

    def answers(self):
        assert self.process.poll() is None
        try:
            with urlopen(f"{self.address}/sign-in/login/", timeout=30) as answer:
                return answer.status == 200
        except (URLError, ConnectionError, TimeoutError):
            return False

    def family(self):
        return family(self.process.pid)

    def of(self, kind):
        return of_kind(self.family(), kind)

    def end_by(self, end):
        """End it, and tell its exit status and the commands of its family that are left when all had time to end."""
        before = self.family()
        end(self.process.pid)
        status = self.process.wait(PATIENCE_S)
        until = time.monotonic() + TIME_TO_END_S
        while (left := alive_of(before)) and time.monotonic() < until:
            time.sleep(0.2)
        for number in left:
            os.kill(number, signal.SIGKILL)
        return {"status": status, "left": sorted(left.values())}
