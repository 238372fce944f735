"""The command that loads the invented firm says how far it is, to whoever waits long."""

from io import StringIO

import pytest
from django.core.management.base import OutputWrapper

from demo.management.commands import load_demo
from demo.management.commands.load_demo import QUIET_S, Patience


@pytest.fixture
def clock(monkeypatch):
    at = [100.0]
    monkeypatch.setattr(load_demo, "monotonic", lambda: at[0])
    return at


def test_a_quick_machine_is_told_nothing(clock):
    out = StringIO()
    say = Patience(OutputWrapper(out))

    for _ in range(11):
        clock[0] += QUIET_S / 20
        say("One more site is recorded.")

    assert out.getvalue() == ""


def test_whoever_waits_is_told_every_few_seconds(clock):
    out = StringIO()
    say = Patience(OutputWrapper(out))

    for number in range(1, 5):
        clock[0] += QUIET_S / 2
        say(f"{number} of 4 sites are recorded.")

    assert out.getvalue() == "2 of 4 sites are recorded.\n4 of 4 sites are recorded.\n"
