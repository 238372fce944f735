"""The words that explain themselves."""

import re
from pathlib import Path

import pytest

from core.calc.glossary import TERMS, terms_by_word

ROOT = Path(__file__).resolve().parents[3]
USED = re.compile(r'\{% term "([a-z0-9_]+)"')
USED_IN_CODE = re.compile(r'\bterm="([a-z0-9_]+)"')


def used():
    """Every word that a template or a figure explains."""
    for path in (ROOT / "templates").rglob("*.html"):
        yield from USED.findall(path.read_text(encoding="utf-8"))
    for app in ("qa", "maintenance", "planning", "reporting"):
        for path in (ROOT / app / "presentation").rglob("*.py"):
            yield from USED_IN_CODE.findall(path.read_text(encoding="utf-8"))


def test_every_word_that_pages_explain_is_in_the_glossary():
    found = set(used())

    assert found
    assert found <= set(TERMS)


@pytest.mark.parametrize("term", TERMS.values(), ids=lambda term: term.key)
def test_each_is_explained_in_whole_sentences(term):
    assert re.fullmatch(r"[a-z0-9_]+", term.key)
    assert term.meaning.endswith(".")
    assert len(term.meaning) > 40
    assert not term.computed or term.computed.endswith(".")


def test_no_word_is_explained_twice():
    words = [term.word for term in TERMS.values()]

    assert len(set(words)) == len(words)


def test_they_are_listed_by_word():
    words = [term.word for term in terms_by_word()]

    assert words == sorted(words, key=str.casefold)
    assert len(words) == len(TERMS)
