"""What somebody asked for, read from what was typed."""

import pytest

from reporting.calc.searching import LONGEST, Kind, asked_for


def test_words_are_folded_and_days_left_as_typed():
    asked = asked_for("  Wéir 2026-05 ")

    assert (asked.text, asked.words, asked.days) == ("Wéir 2026-05", ("weir",), ("2026-05",))
    assert asked.all_words == ("weir", "2026", "05")


@pytest.mark.parametrize("text", ["", "   ", " - , ."])
def test_nothing_to_look_for_is_no_search(text):
    assert not asked_for(text)


def test_a_day_alone_is_a_search():
    assert asked_for("2026-05-14")


@pytest.mark.parametrize("text", ["12026-05-141", "2026-5", "20260514"])
def test_what_only_resembles_a_day_is_read_as_words(text):
    assert asked_for(text).days == ()


def test_what_is_too_long_is_cut():
    assert len(asked_for("a" * 500).text) == LONGEST


def test_no_more_words_are_looked_for_than_a_name_needs():
    asked = asked_for("a b c d e f g h i j 2026-05")

    assert asked.words == tuple("abcdefgh")
    assert asked.all_words == asked.words
    assert asked_for("a b 2026-05").all_words == ("a", "b", "2026", "05")


def test_one_of_a_kind_has_a_name_too():
    assert [kind.one for kind in Kind] == ["Site", "Surface", "Owner", "Visit"]
