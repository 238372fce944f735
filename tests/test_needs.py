"""No test is left out unnoticed, and CI has what they all need."""

import re
from pathlib import Path

import pytest

from tests import needs

ROOT = Path(__file__).resolve().parent.parent
SKIPS = re.compile(r"pytest\.skip\(|importorskip\(|mark\.skip|mark\.xfail|pytest\.xfail\(|unittest\.skip")
NAMED = re.compile(r"\(package ([\w.-]+)\)|\bneed\(\"[\w-]+\", \"([\w.-]+)\"\)")


def sources():
    """Each test module but this one, with its text."""
    for path in sorted((ROOT / "tests").rglob("*.py")):
        if path != Path(__file__):
            yield path, path.read_text(encoding="utf-8")


def test_only_a_missing_program_skips_a_test():
    skipping = [path.name for path, text in sources() if SKIPS.search(text)]

    assert skipping == ["needs.py"]


def test_ci_installs_every_program_that_a_test_needs():
    needed = {one or other for _, text in sources() for one, other in NAMED.findall(text)}
    installed = set(
        re.findall(r"missing\+=\(([\w.-]+)\)", (ROOT / ".ci" / "run").read_text(encoding="utf-8"))
    )

    assert {
        "chromium-headless-shell",
        "redis-server",
        "postgresql",
        "poppler-utils",
        "nodejs",
        "procps",
    } <= needed
    assert needed <= installed


@pytest.mark.parametrize("ci", ["true", "1", "True"])
def test_without_a_program_ci_fails(monkeypatch, ci):
    monkeypatch.setenv("CI", ci)

    with pytest.raises(pytest.fail.Exception, match=r"no-such-program \(package no-such\) is not installed"):
        needs.need("no-such-program", "no-such")


@pytest.mark.parametrize("ci", ["", "0", "false"])
def test_without_a_program_a_person_is_told_what_was_skipped(monkeypatch, ci):
    monkeypatch.setenv("CI", ci)

    with pytest.raises(pytest.skip.Exception, match=r"no-such-program \(package no-such\) is not installed"):
        needs.need("no-such-program", "no-such")
