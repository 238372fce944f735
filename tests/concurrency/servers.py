"""Private servers on free ports or in folders of their own, started for a test and stopped after it."""

import fcntl
import json
import os
import shutil
import socket
import subprocess
import tempfile
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from types import SimpleNamespace

from redis import Redis, RedisError

from tests.concurrency.patience import PATIENCE_S, wait_until
from tests.needs import missing

ROOT = Path(__file__).resolve().parents[2]
MOST_PORTS = 10


def told_once(tmp_path_factory, name, live_through):
    """What happened in a folder, by name; lived through once, also where the tests run in several processes."""
    folder = tmp_path_factory.mktemp(name)
    if "PYTEST_XDIST_WORKER" not in os.environ:
        return SimpleNamespace(**live_through(folder))
    told = tmp_path_factory.getbasetemp().parent / f"{name}.json"
    with told.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not told.exists():
            told.write_text(
                "null", encoding="utf-8"
            )  # a story that fails is not lived through by each process
            told.write_text(json.dumps(live_through(folder)), encoding="utf-8")
    happened = json.loads(told.read_text(encoding="utf-8"))
    assert happened is not None, f"{name} failed in another process, which shows why."
    return SimpleNamespace(**happened)


def server_environment(folder, **more):
    """The environment of a server of its own in a folder, without the settings the tests themselves run by."""
    steering = ("RAINTHROUGH_", "DJANGO_", "DATABASE_URL", "REDIS_URL")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(steering)}
    given = {
        "RAINTHROUGH_DATA_DIR": str(folder),
        "RAINTHROUGH_DEBUG": "1",
        "RAINTHROUGH_HTTPS": "0",
        "RAINTHROUGH_HOSTS": "testserver,127.0.0.1",
        "DATABASE_URL": f"sqlite:///{folder}/firm.sqlite3",
    }
    return kept | given | more


def free_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


@contextmanager
def dead_port():
    """A port that refuses everybody, and that nobody else takes while the block lasts."""
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        yield holder.getsockname()[1]


class Postgres:
    """A PostgreSQL in a folder, that can be stopped and started again. url: of its database, or of a further one."""

    def __init__(self, folder):
        found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]))
        self._initdb = str(found[-1]) if found else shutil.which("initdb")
        if not self._initdb:
            missing("PostgreSQL (package postgresql)")
        self._pg_ctl = str(Path(self._initdb).with_name("pg_ctl"))
        self._as_other = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        self._folder, self.data = folder, f"{folder}/data"
        if self._as_other:
            shutil.chown(folder, "postgres")

    def make(self):
        how = ["-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync", "--locale=C"]
        self._run(self._initdb, "-D", self.data, *how)

    def start(self):
        options = f"-k {self._folder} -c listen_addresses='' -c fsync=off -c synchronous_commit=off"
        self._control("-l", f"{self._folder}/log", "-o", options, "start")

    def stop(self):
        self._control("-m", "immediate", "stop")

    def url(self, name="postgres"):
        return f"postgres://postgres@/{self._folder}/{name}"

    def copy(self, name):
        """Have a further database with what is in the usual one, to which nobody may be connected."""
        createdb = str(Path(self._initdb).with_name("createdb"))
        which = ["-h", self._folder, "-U", "postgres", "--maintenance-db", "template1", "-T", "postgres"]
        self._run(createdb, *which, name)

    def _control(self, *command):
        self._run(self._pg_ctl, "-D", self.data, "-w", "-t", f"{PATIENCE_S:.0f}", *command)

    def _run(self, *command):
        done = subprocess.run([*self._as_other, *command], check=False, capture_output=True, cwd=self._folder)
        assert done.returncode == 0, (command, done.stdout[-2000:], done.stderr[-2000:])


@contextmanager
def postgres_server(folder=None):
    """A PostgreSQL of our own. It refuses to run as root, so root hands it to `postgres`.

    It listens at a socket in its folder, so it needs no port. That path must be short and open to `postgres`,
    which the folder for temporary files that a person has chosen need not be. folder: another, which stays.
    """
    own = folder or tempfile.mkdtemp(prefix="pg", dir="/tmp")
    try:
        server = Postgres(own)
        server.make()
        server.start()
        try:
            yield server
        finally:
            server.stop()
    finally:
        if not folder:
            shutil.rmtree(own, ignore_errors=True)


@contextmanager
def postgres():
    """The URL of a PostgreSQL of our own."""
    with postgres_server() as server:
        yield server.url()


@contextmanager
def redis():
    """The port of a Redis of our own, which keeps nothing on disk."""
    program = shutil.which("redis-server")
    if not program:
        missing("Redis (package redis-server)")
    options = ["--bind", "127.0.0.1", "--save", "", "--appendonly", "no"]
    for _ in range(MOST_PORTS):  # somebody else may take a free port before the server does; it ends then
        port = free_port()
        command = [program, "--port", str(port), *options]
        with running(command, stdout=subprocess.DEVNULL) as process:
            wait_until(partial(_has_started_or_ended, process, port), "Redis")
            if process.poll() is None:
                yield port
                return
    raise RuntimeError(f"Redis ended at once on each of {MOST_PORTS} ports; {command} says why.")


def _has_started_or_ended(process, port):
    try:
        return Redis(port=port).info("server")["process_id"] == process.pid
    except RedisError:
        return process.poll() is not None


@contextmanager
def running(command, **options):
    """A process that is ended with the block."""
    process = subprocess.Popen(command, **options)
    try:
        yield process
    finally:
        process.terminate()
        try:
            process.wait(timeout=60)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
