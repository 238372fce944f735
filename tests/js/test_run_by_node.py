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


def test_every_script_of_a_page_can_be_read_as_a_module(tmp_path):
    """A name both imported and declared stops a script before its first line, and most run in a browser alone."""
    node = need("node", "nodejs")
    scripts = sorted(Path(HERE.parent.parent, "static", "js").rglob("*.js"))

    wrong = {}
    for script in scripts:
        module = tmp_path / "read.mjs"
        module.write_text(script.read_text())
        done = subprocess.run(
            [node, "--check", str(module)], capture_output=True, encoding="utf-8", check=False
        )
        if done.returncode:
            wrong[script.name] = done.stderr

    assert len(scripts) > 50
    assert wrong == {}
