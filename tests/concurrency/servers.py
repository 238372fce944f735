"""Private servers on free ports, started for a test and stopped after it."""

import os
import shutil
import socket
import subprocess
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

from tests.needs import missing

PATIENCE_S = 60.0


def free_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


def wait_until(ready, what):
    until = time.monotonic() + PATIENCE_S
    while not ready():
        if time.monotonic() > until:
            raise TimeoutError(f"{what} was not ready within {PATIENCE_S:g} s.")
        time.sleep(0.05)


def _listens(port):
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


@contextmanager
def postgres():
    """The URL of a PostgreSQL of our own. It refuses to run as root, so root hands it to `postgres`."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]))
    initdb = str(found[-1]) if found else shutil.which("initdb")
    if not initdb:
        missing("PostgreSQL")
    pg_ctl = str(Path(initdb).with_name("pg_ctl"))
    as_other = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    folder, port = tempfile.mkdtemp(prefix="pg"), free_port()
    if as_other:
        shutil.chown(folder, "postgres")

    def run(*command):
        subprocess.run([*as_other, *command], check=True, capture_output=True, cwd=folder)

    data = f"{folder}/data"
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off -c synchronous_commit=off"
    try:
        run(initdb, "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync", "--locale=C")
        run(pg_ctl, "-D", data, "-l", f"{folder}/log", "-o", options, "-w", "start")
        try:
            yield f"postgres://postgres@127.0.0.1:{port}/postgres"
        finally:
            run(pg_ctl, "-D", data, "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def redis(port):
    """A Redis on that port that keeps nothing on disk."""
    program = shutil.which("redis-server")
    if not program:
        missing("Redis")
    command = [program, "--port", str(port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"]
    with running(command, stdout=subprocess.DEVNULL):
        wait_until(lambda: _listens(port), "Redis")
        yield


@contextmanager
def running(command, **options):
    """A process that is ended with the block."""
    process = subprocess.Popen(command, **options)
    try:
        yield process
    finally:
        process.terminate()
        try:
            process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
