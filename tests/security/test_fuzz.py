"""Hostile input to every route, by a fixed seed: no server error, and nothing half saved.

`make fuzz TRIES=20000 SEED=1` is the long run; here is a share of it that fits into every run.
"""

import os

import pytest

from tests.security.judging import run
from tests.security.targets import every_target

TRIES, SEED = int(os.environ.get("FUZZ_TRIES", "600")), int(os.environ.get("FUZZ_SEED", "20261127"))
MOST_CPU_S = None if "FUZZ_TRIES" in os.environ else 40.0


@pytest.fixture
def firm(furnished):
    return furnished


def test_hostile_input_is_no_server_error_and_leaves_nothing_half_saved(firm, capsys):
    tally = run(every_target(firm), tries_wanted=TRIES, seed=SEED, until_cpu_s=MOST_CPU_S)

    said = "\n".join(tally.report())
    with capsys.disabled():
        print(said)
    assert not tally.faults, said
