"""Starts a helper again when it dies, without haste, and ends with the main program."""

import os
import signal
import subprocess
import sys
import time

import pytest

from operations.services import supervisor
from operations.services.supervisor import Helper, Program, Supervisor, end_all
from operations.services.wakes import open_pipe

SLEEPS = Program([sys.executable, "-c", "import time; time.sleep(600)"])
DIES = Program([sys.executable, "-c", "raise SystemExit(3)"])
IGNORES_TERM = [
    sys.executable,
    "-c",
    "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); print(flush=True); time.sleep(600)",
]


@pytest.fixture
def quick(monkeypatch):
    monkeypatch.setattr(supervisor, "FIRST_PAUSE_S", 0.0)
    monkeypatch.setattr(supervisor, "LOOK_EVERY_S", 0.01)


def died(helper):
    helper.process.kill()
    helper.process.wait()
    helper.look()


def test_a_helper_that_keeps_dying_is_started_again_after_ever_longer_pauses():
    helper = Helper(SLEEPS)
    pauses = []
    for _ in range(8):
        helper.start_at = 0.0
        helper.look()
        died(helper)
        pauses.append(helper.pause_s)

    assert pauses == [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 60.0, 60.0]


def test_a_helper_that_lived_long_is_started_again_soon():
    helper = Helper(SLEEPS, pause_s=60.0)
    helper.look()
    helper.started_at -= supervisor.LIVED_S

    died(helper)

    assert helper.pause_s == supervisor.FIRST_PAUSE_S


def test_a_helper_waits_out_its_pause():
    helper = Helper(SLEEPS, start_at=time.monotonic() + 60.0)

    helper.look()

    assert helper.process is None


def test_it_ends_with_the_main_program_and_passes_on_its_status(quick):
    all_ = Supervisor(main=DIES, helpers=[SLEEPS, SLEEPS])

    status = all_.run()

    assert status == 3
    assert all(helper.process is None or helper.process.poll() is not None for helper in all_.helpers)


def test_told_to_end_it_ends_all_and_gives_the_signals_back(quick):
    before = signal.getsignal(signal.SIGTERM)
    all_ = Supervisor(main=SLEEPS, helpers=[SLEEPS, SLEEPS])
    last = all_.helpers[-1]
    look = last.look

    def look_then_be_told():
        look()
        signal.raise_signal(signal.SIGTERM)

    last.look = look_then_be_told

    assert all_.run() == 0
    assert all(helper.process.poll() is not None for helper in all_.helpers)
    assert signal.getsignal(signal.SIGTERM) is before


def test_a_helper_that_is_started_again_has_the_same_pipe_with_what_was_written_meanwhile(capfd):
    pipe = open_pipe()
    reads = f"import os; print(os.read({pipe.woken}, 9), flush=True); raise SystemExit(0)"
    helper = Helper(Program([sys.executable, "-c", reads], (pipe.woken,)))
    for written in (b"first", b"second"):
        os.write(pipe.wakes, written)
        helper.start_at = 0.0
        helper.look()
        helper.process.wait()
        helper.look()

    assert capfd.readouterr().out.split() == ["b'first'", "b'second'"]


def test_what_does_not_end_when_asked_is_killed(monkeypatch):
    monkeypatch.setattr(supervisor, "GRACE_S", 0.2)
    stubborn = subprocess.Popen(IGNORES_TERM, stdout=subprocess.PIPE)
    stubborn.stdout.readline()  # it ignores the signal by now

    end_all([stubborn])

    assert stubborn.returncode == -signal.SIGKILL
    stubborn.stdout.close()
