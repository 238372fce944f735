"""Templates stay readable for the next person who edits them."""

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent / "templates"
LONGEST_LINE = 120
TEMPLATES = sorted(path for path in ROOT.rglob("*.html") if path.parent.name != "reporting")


def name_of(path):
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_no_line_is_longer_than_a_screen(path):
    long = {
        number: line
        for number, line in enumerate(path.read_text().splitlines(), 1)
        if len(line) > LONGEST_LINE
    }

    assert long == {}
