"""Rows in a real PostgreSQL, and threads that meet at the same moment."""

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import environ
import pytest
from django.core.management import call_command
from django.db import connection, connections

from tests.concurrency.servers import postgres


@pytest.fixture(scope="session")
def _postgres_url():
    with postgres() as url:
        yield url


@pytest.fixture(scope="session")
def _migrated(_postgres_url, django_db_blocker):
    """The settings of a migrated database in that server."""
    given = connections.configure_settings({"default": environ.Env.db_url_config(_postgres_url)})["default"]
    with django_db_blocker.unblock(), _as_default(given):
        call_command("migrate", verbosity=0)
    return given


@pytest.fixture
def on_postgres(_migrated, django_db_blocker):
    """The default connection leads to PostgreSQL, in this thread and in new ones. Rows stay: use your own firm."""
    with django_db_blocker.unblock(), _as_default(_migrated):
        assert connection.vendor == "postgresql"
        yield


@contextmanager
def _as_default(given):
    before = connections.settings["default"], connections["default"]
    connections.settings["default"] = given
    del connections["default"]
    try:
        yield
    finally:
        connections["default"].close()
        connections.settings["default"], connections["default"] = before


@pytest.fixture
def at_once():
    """Run calls in threads that start together; gives each one's result, or the exception that ended it."""

    def run(*calls):
        start = threading.Barrier(len(calls), timeout=10)

        def one(call):
            try:
                start.wait()
                return call()
            finally:
                connections.close_all()

        with ThreadPoolExecutor(len(calls)) as pool:
            ended = [pool.submit(one, call) for call in calls]
        return [future.exception() or future.result() for future in ended]

    return run
