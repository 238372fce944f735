"""Stored sentences, spoken in the reader's units."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from maintenance.calc.text import day, rate, share, speak


def test_numbers_are_spoken_in_the_readers_units():
    sentence = f"Below {rate(254.0)} with {share(0.125)} by {day(date(2027, 3, 1))}."

    assert speak(sentence, "si") == "Below 254 mm/h with 12\u00a0% by 1\u00a0Mar\u00a02027."
    assert speak(sentence, "us") == "Below 10 in/h with 12\u00a0% by 1\u00a0Mar\u00a02027."


@given(st.text(alphabet=st.characters(exclude_characters="{}")))
def test_text_without_marks_comes_back_as_it_is(text):
    assert speak(text, "si") == text


def test_braces_that_are_no_mark_are_left_alone():
    assert speak("{width:3} {rate}", "si") == "{width:3} {rate}"
