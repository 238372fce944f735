"""One table of texts for a language says what the chain of tables said."""

import pytest
from django.utils.translation import trans_real

from core.services.texts import gather_texts


@pytest.fixture
def fresh():
    """The tables of a language as a process reads them first, and as they were for everybody else afterwards."""
    before = trans_real._translations
    trans_real._translations = {}
    gather_texts.cache_clear()
    yield lambda language: trans_real.translation(language)
    trans_real._translations = before
    gather_texts.cache_clear()


def chain_of(table):
    tables = [table]
    while table := table._fallback:
        tables.append(table)
    return tables


def keys_of(tables):
    return {key for table in tables for key, _ in table._catalog.items() if key}


def said(table, keys):
    """Each text as it is looked up: by itself, or for none to three things."""
    alone = {key: table.gettext(key) for key in keys if isinstance(key, str)}
    counted = {key[0] for key in keys if isinstance(key, tuple)}
    return alone, {key: [table.ngettext(key, f"{key}s", n) for n in range(4)] for key in counted}


@pytest.mark.parametrize("language", ["en-gb", "fr"])
def test_every_text_is_as_it_was(fresh, language):
    table = fresh(language)
    keys = keys_of(chain_of(table)) | {"A text of no table", ("A thing of no table", 1)}
    before = said(table, keys)

    gather_texts(language)

    assert said(table, keys) == before
    assert len(keys) > 100


def test_english_is_sought_in_one_table(fresh):
    table = fresh("en-gb")
    assert len(chain_of(table)) > 1, "else this would gather nothing"

    gather_texts("en-gb")

    assert len(chain_of(table)) == 1


def test_a_language_that_counts_otherwise_keeps_its_chain(fresh):
    table = fresh("fr")
    chain = len(chain_of(table))

    gather_texts("fr")

    assert len(chain_of(table)) == chain > 1
