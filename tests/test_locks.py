"""The locks hold what the requirements ask, and every package with the hashes of its files."""

import re
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parent.parent
RUN, DEVELOPMENT = "requirements", "requirements-dev"
RENEW = "The lock is older than the requirements; `make lock` writes it anew."


def asked_by(name):
    """The requirements of a file: one a line, each with a reason behind a mark."""
    lines = [line.split("#")[0].strip() for line in (ROOT / f"{name}.txt").read_text().splitlines()]
    return {pin_of(line) for line in lines if line and not line.startswith("-r")}


def pin_of(line):
    """Name, extras and version of a requirement, so that two spellings of it compare equal."""
    requirement = Requirement(line)
    return requirement.name.lower(), frozenset(requirement.extras), str(requirement.specifier)


def entries_of(name):
    """The packages of a lock: the requirement, its hashes, and the lines that say who asked for it."""
    text = (ROOT / f"{name}.lock").read_text()
    for entry in re.split(r"\n(?=[a-z])", text)[1:]:
        first, *rest = entry.splitlines()
        yield first.rstrip(" \\"), re.findall(r"--hash=sha256:([0-9a-f]{64})\b", entry), rest


def locked_for(name, requirements):
    """What a lock holds because a file of requirements names it."""
    return {
        pin_of(line)
        for line, _, rest in entries_of(name)
        if any(comment.endswith(f"-r {requirements}.txt") for comment in rest)
    }


@pytest.mark.parametrize("lock", [RUN, DEVELOPMENT])
def test_the_lock_holds_what_running_asks(lock):
    assert locked_for(lock, RUN) == asked_by(RUN), RENEW


def test_the_lock_holds_what_development_asks():
    assert locked_for(DEVELOPMENT, DEVELOPMENT) == asked_by(DEVELOPMENT), RENEW


def test_development_runs_on_the_very_packages_that_serve():
    serving = {line.split(" ;")[0] for line, *_ in entries_of(RUN)}
    development = {line.split(" ;")[0] for line, *_ in entries_of(DEVELOPMENT)}

    assert serving <= development, RENEW


@pytest.mark.parametrize("lock", [RUN, DEVELOPMENT])
def test_every_package_of_a_lock_has_one_version_and_hashes(lock):
    entries = list(entries_of(lock))

    assert entries
    assert [line for line, hashes, _ in entries if "==" not in line or not hashes] == []


@pytest.mark.parametrize("lock", [RUN, DEVELOPMENT])
def test_a_lock_names_no_host(lock):
    assert "://" not in (ROOT / f"{lock}.lock").read_text()
