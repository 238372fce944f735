"""Templates stay readable for the next person who edits them."""

import re
from pathlib import Path

import pytest

from core.calc.choices import TextChoice

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


# What a template compares with a word: a field or property that holds a word of a list of choices.
COMPARED = re.compile(
    r"\.(status|state|outcome|action|method|bound|entry|kind|source_status|judgement)\s*[!=]=\s*[\"']([^\"']+)[\"']"
)
OF_THE_PAGE = {"inside", "out", "missing"}  # how a sieve stands to its band, which is not stored


def words_of_all_lists():
    """Every stored word of every list of choices there is."""
    lists, words = [TextChoice], set(OF_THE_PAGE)
    while lists:
        choices = lists.pop()
        lists += choices.__subclasses__()
        words |= set(choices.values)
    return words


def test_templates_compare_with_words_that_can_be_stored():
    compared = {
        (name_of(path), word)
        for path in ROOT.rglob("*.html")
        for _, word in COMPARED.findall(path.read_text())
    }

    assert len(compared) > 10
    assert {(path, word) for path, word in compared if word not in words_of_all_lists()} == set()
