"""The web server as a program of this process: how it is told to serve, and that it ends with its parent."""

import gc
import os
import signal
from types import SimpleNamespace

import pytest
from django.core.handlers.wsgi import WSGIHandler

from operations.services.web_server import EndsWithParent, LinesAsEverywhere, WebServer

GONE = 1_999_999_999  # no process has this number


@pytest.fixture
def kept_signals():
    """The handlers of this process, which the server replaces by its own."""
    before = {number: signal.getsignal(number) for number in signal.valid_signals()}
    yield
    for number, handler in before.items():
        if signal.getsignal(number) is not handler:
            signal.signal(number, handler)


def server(**options):
    return WebServer(**{"bind": "127.0.0.1:0", "workers": 2} | options)


def test_it_serves_where_and_with_as_many_workers_as_it_is_told():
    told = server(bind="127.0.0.1:4711", workers=3).cfg

    assert told.address == [("127.0.0.1", 4711)]
    assert told.workers == 3


def test_options_of_the_shell_or_the_folder_do_not_reach_it(monkeypatch):
    monkeypatch.setattr("sys.argv", ["manage.py", "serve", "--workers", "9"])

    assert server().cfg.workers == 2


@pytest.fixture
def thawed():
    """Objects that a worker leaves out of the collection come back to it."""
    yield
    gc.unfreeze()


def test_every_worker_serves_the_pages_of_the_project(thawed):
    assert isinstance(server().load(), WSGIHandler)


def test_a_server_whose_parent_is_gone_ends_well_before_it_starts_a_worker(kept_signals, monkeypatch):
    forks = []
    monkeypatch.setattr(EndsWithParent, "spawn_worker", lambda self: forks.append(self))

    with pytest.raises(SystemExit) as end:
        server(parent=GONE).run()

    assert (end.value.code, forks) == (0, [])


@pytest.mark.parametrize("parent_of", [os.getppid, lambda: None], ids=["with a parent", "without"])
def test_a_server_whose_parent_lives_or_was_not_given_keeps_its_workers_up(parent_of, monkeypatch):
    forks = []

    def fork(arbiter):
        forks.append(arbiter)
        arbiter.WORKERS[len(forks)] = SimpleNamespace(age=len(forks))

    monkeypatch.setattr(EndsWithParent, "spawn_worker", fork)

    arbiter = EndsWithParent(server(workers=2, parent=parent_of()))
    monkeypatch.setattr(arbiter, "WORKERS", {})
    arbiter.manage_workers()

    assert len(forks) == 2


def test_what_it_says_itself_is_written_as_every_other_line(caplog):
    said = LinesAsEverywhere(server().cfg).error_log

    said.warning("A worker did not answer.")

    assert [record.getMessage() for record in caplog.records] == ["A worker did not answer."]
    assert said.handlers == []
    assert server().cfg.logger_class is LinesAsEverywhere
