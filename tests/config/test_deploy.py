"""The programs of a server, as systemd and lists of programs start them."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PLACE = "/srv/rainthrough/project"
UNITS = {path.stem.removeprefix("rainthrough-"): path for path in sorted((ROOT / "deploy").glob("*.service"))}
LISTED = dict(line.split(": ", 1) for line in (ROOT / "deploy/Procfile").read_text().splitlines())


def command_of(unit):
    return re.search(r"^ExecStart=(.*)$", UNITS[unit].read_text(), re.M)[1].removeprefix(f"{PLACE}/")


def test_the_list_has_the_programs_of_the_units():
    assert LISTED.keys() == UNITS.keys() == {"web", "worker", "scheduler"}


@pytest.mark.parametrize("program", UNITS)
def test_both_start_it_by_the_same_command(program):
    assert LISTED[program].removeprefix("OPENBLAS_NUM_THREADS=1 ") == command_of(program)


@pytest.mark.parametrize("program", ["worker", "scheduler"])
def test_the_guide_gives_the_same_command(program):
    assert command_of(program) in (ROOT / "docs/running-it.md").read_text()
