"""Programs that some tests need besides Python. Nothing but this module skips a test."""

import os
import shutil

import pytest

NOT_CI = ("", "0", "false", "no")


def need(command, package):
    """The path of a program. Where it is missing the test is skipped and says why; in CI it fails."""
    found = shutil.which(command)
    if found is None:
        missing(f"{command} (package {package})")
    return found


def missing(what):
    """CI must not pass without it; elsewhere the test is skipped and says why."""
    if os.environ.get("CI", "").lower() not in NOT_CI:
        pytest.fail(f"{what} is not installed, and CI must not pass without it.")
    pytest.skip(f"{what} is not installed here.")
