"""The browser modules' own tests, so that one command runs everything."""

import shutil
import subprocess
from pathlib import Path

import pytest

HERE = Path(__file__).parent

pytestmark = pytest.mark.skipif(shutil.which("node") is None, reason="needs Node 20 or newer")


def test_browser_modules_pass_their_own_tests():
    files = sorted(str(path) for path in HERE.glob("*.test.mjs"))

    done = subprocess.run(
        ["node", "--test", *files], capture_output=True, text=True, timeout=120, check=False
    )

    assert files
    assert done.returncode == 0, done.stdout[-4000:]
