"""Texts as a search reads them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.folding import folded, words_of


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Café St. Óscar-Weg 7", ("cafe", "st", "oscar", "weg", "7")),
        ("Straße", ("strasse",)),
        ("STRASSE", ("strasse",)),
        ("Łódź, Ørsted", ("lodz", "orsted")),
        ("Æbleværket", ("aeblevaerket",)),
        ("O'Neil’s yard", ("oneils", "yard")),
        ("İstanbul ISPARTA", ("istanbul", "isparta")),
        ("ﬁeld", ("field",)),
        ("１２３", ("123",)),
        ("Ελλάδα", ("ελλαδα",)),
        ("雨水 广场", ("雨水", "广场")),
        ("  --  ", ()),
        ("", ()),
    ],
)
def test_case_accents_and_punctuation_make_no_difference(text, words):
    assert words_of(text) == words


def test_a_word_begins_after_a_blank_wherever_it_stands():
    kept = folded("Weir Lane car park", "12 Mill Road")

    assert kept.startswith(" weir ")
    assert kept.endswith(" ")
    assert " mill " in kept


def test_nothing_gives_nothing():
    assert folded("", " , ") == ""


@pytest.mark.parametrize("typed", ["SW1A 1AA", "sw1a1aa", "1aa"])
def test_a_post_code_is_found_with_and_without_its_blank(typed):
    kept = folded("7 Weir Lane, SW1A 1AA")

    assert all(word in kept for word in words_of(typed))


def test_halves_of_two_texts_are_not_put_together():
    assert "12ab" not in folded("Site 12", "AB Street")


@given(st.text(max_size=60))
def test_folding_what_is_folded_changes_nothing(text):
    once = words_of(text)

    assert words_of(" ".join(once)) == once


@given(st.text(max_size=40))
def test_upper_and_lower_case_find_each_other(text):
    # Not every language's capitals come back (Turkish dotless i among them); those that do must fold alike.
    if text.upper().lower() == text.lower():
        assert words_of(text.upper()) == words_of(text.lower())


@given(st.lists(st.text(alphabet="abcdefgh1234", min_size=1, max_size=9), min_size=1, max_size=6))
def test_each_word_of_a_text_is_found_at_its_beginning(words):
    kept = folded(" ".join(words))

    assert all(f" {word}" in kept for word in words)
