"""Rows in a real PostgreSQL, and threads that meet at the same moment."""

import threading
from concurrent.futures import ThreadPoolExecutor
from functools import wraps

import environ
import pytest
from django.core.management import call_command
from django.db import connection, connections

from tests.concurrency.patience import PATIENCE_S, wait_until
from tests.concurrency.servers import postgres
from tests.databases import as_default


@pytest.fixture(scope="session")
def _postgres_url():
    with postgres() as url:
        yield url


@pytest.fixture(scope="session")
def _migrated(_postgres_url, django_db_blocker):
    """The settings of a migrated database in that server."""
    given = connections.configure_settings({"default": environ.Env.db_url_config(_postgres_url)})["default"]
    with django_db_blocker.unblock(), as_default(given):
        call_command("migrate", verbosity=0, run_syncdb=True)  # of the models, as all tables of the tests
    return given


@pytest.fixture
def on_postgres(_migrated, django_db_blocker):
    """The default connection leads to PostgreSQL, in this thread and in new ones. Rows stay: use your own firm."""
    with django_db_blocker.unblock(), as_default(_migrated):
        assert connection.vendor == "postgresql"
        yield


class AtOnce:
    """Runs calls in threads that start together; gives each one's result, or the exception that ended it."""

    def __init__(self):
        self._threads, self._come, self._ended = 0, set(), set()

    def __call__(self, *calls):
        self._threads = len(calls)
        start = threading.Barrier(len(calls), timeout=PATIENCE_S)
        with ThreadPoolExecutor(len(calls)) as pool:
            ended = [pool.submit(self._one, start, call) for call in calls]
        return [future.exception() or future.result() for future in ended]

    def _one(self, start, call):
        try:
            start.wait()
            return call()
        finally:
            connections.close_all()
            self._ended.add(threading.get_ident())

    def held_open(self, call):
        """The same call, but whoever comes to it stays until each other thread is there too, waits or has ended.

        So the gap before the call is open when the others come, however late the machine lets them run.
        """

        @wraps(call)
        def late(*args, **kwargs):
            self._come.add(threading.get_ident())
            wait_until(self._nobody_is_on_the_way, "The other thread")
            return call(*args, **kwargs)

        return late

    def _nobody_is_on_the_way(self):
        with connection.cursor() as cursor:
            cursor.execute("SELECT count(*) FROM pg_locks WHERE NOT granted")
            (waiting,) = cursor.fetchone()
        return len(self._come | self._ended) + waiting >= self._threads


@pytest.fixture
def at_once():
    return AtOnce()
