"""The browser modules' own tests, so that one command runs everything."""

import subprocess
from pathlib import Path

from tests.needs import need

HERE = Path(__file__).parent


def test_browser_modules_pass_their_own_tests():
    node = need("node", "nodejs")
    files = sorted(str(path) for path in HERE.glob("*.test.mjs"))

    done = subprocess.run([node, "--test", *files], capture_output=True, encoding="utf-8", check=False)

    assert files
    assert done.returncode == 0, done.stdout[-4000:]
