"""Units and the list of programs start what the guide says, and the guide watches numbers that there are."""

import configparser
import re
from pathlib import Path

import pytest

from operations.presentation.metrics import NumbersAsMetrics
from operations.selectors.numbers import Numbers

ROOT = Path(__file__).resolve().parent.parent.parent
DEPLOY = ROOT / "deploy"
GUIDE = (ROOT / "docs" / "running-it.md").read_text(encoding="utf-8")
UNITS = sorted(DEPLOY.glob("*.service"))


def section(unit, name):
    parser = configparser.ConfigParser(interpolation=None, strict=False)
    parser.optionxform = str
    parser.read(unit)
    return parser[name]


def commands_of_units():
    """What each unit starts, by its name, from the project's folder."""
    return {
        unit.stem.removeprefix("rainthrough-"): section(unit, "Service")["ExecStart"].removeprefix(
            "/srv/rainthrough/project/"
        )
        for unit in UNITS
    }


def commands_of_list():
    lines = (DEPLOY / "Procfile").read_text(encoding="utf-8").splitlines()
    return {
        name: command.removeprefix("OPENBLAS_NUM_THREADS=1 ")
        for name, command in (x.split(": ") for x in lines)
    }


def test_both_ways_start_the_same_three_programs():
    assert commands_of_units() == commands_of_list()
    assert set(commands_of_list()) == {"web", "worker", "scheduler"}


@pytest.mark.parametrize("command", commands_of_list().values())
def test_each_program_is_started_as_the_guide_has_it(command):
    assert command in GUIDE


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_a_unit_comes_back_by_itself_and_runs_as_a_user_of_its_own(unit):
    service = section(unit, "Service")

    assert service["Restart"] == "always"
    assert service["User"] == "rainthrough"
    assert service["EnvironmentFile"] == "/etc/rainthrough.env"
    assert int(service["TimeoutStopSec"]) > 30, "gunicorn lets requests end for as long"
    assert f"`{unit.name}`" in GUIDE


def given():
    """The names of all numbers."""
    numbers = Numbers({}, {}, 0, {}, {"clock": 1.0, "backup": 1.0}, 0, 0)
    return {metric.name for metric in NumbersAsMetrics(numbers).collect()}


def test_the_guide_watches_every_number_that_is_worth_it_and_none_that_there_is_not():
    watched = set(re.findall(r"`(rainthrough_[a-z_]+)`", GUIDE))

    assert watched <= given()
    assert given() - watched == {"rainthrough_database_bytes"}
