"""Which characters a paper can show, and the mark for those it cannot."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reporting.presentation import glyphs
from reporting.presentation.glyphs import MARK, plain, printable, signs_of, tidy
from reporting.presentation.typesetting import UnsettableTextError


def words(missing):
    return [(sign.words, sign.times) for sign in missing]


@pytest.mark.parametrize(
    "text",
    [
        "Yard 7, 1 200 m² – Ø 300 µm ≥ 5 °C “north”",
        "Łódź, Škofja Loka, Nuuk, Þórshöfn, İzmir, Tiếng Việt",
        "Αθήνα, Київ, Ђорђе",
        "שלום",
        "مدرسة الميناء",
        "विद्यालय",
        "a line\nand another\tone",
        "✓ ☐ → ⚠",
    ],
)
def test_scripts_that_the_fonts_have_stay_as_they_are(text):
    assert printable(text) == (text, [])


def test_what_no_font_has_becomes_a_mark_and_is_named_the_most_frequent_first():
    shown, missing = printable(
        {"name": "Yard 🧱 中学中", "size_m2": 12.5, "spots": ["A 🧱", None], "中": True}
    )

    assert shown == {
        "name": f"Yard {MARK} {MARK}{MARK}{MARK}",
        "size_m2": 12.5,
        "spots": [f"A {MARK}", None],
        "中": True,  # names of values are ours
    }
    assert words(missing) == [
        ("U+1F9F1 brick", 2),
        ("U+4E2D cjk unified ideograph-4e2d", 2),
        ("U+5B66 cjk unified ideograph-5b66", 1),
    ]


@pytest.mark.parametrize(
    ("text", "signs"),
    [
        ("e\u0301a", ["e\u0301", "a"]),
        ("👩\u200d👩\u200d👧!", ["👩\u200d👩\u200d👧", "!"]),
        ("\u0301a", ["\u0301", "a"]),
        ("", []),
    ],
)
def test_a_letter_with_its_accents_and_a_picture_of_several_are_one_sign(text, signs):
    assert list(signs_of(text)) == signs


def test_accents_join_their_letters_and_what_nobody_sees_goes():
    assert tidy("Cafe\u0301 \u202eabc\u00ad \u26a0\ufe0f\r\n") == "Café abc ⚠\n"


@pytest.mark.parametrize("code", ["\x07", "\ue000", "\ufffe", "\u0378"])
def test_a_code_that_means_no_character_is_marked(code):
    shown, missing = printable(f"a{code}b")

    assert shown == f"a{MARK}b"
    assert words(missing) == [(f"U+{ord(code):04X}", 1)]


def test_no_font_has_the_scripts_that_are_not_asked_for():
    drawn = random.Random(7)
    signs = [
        chr(drawn.randint(first, last)) for first, last in glyphs._SCRIPTS_WITHOUT_FONT for _ in range(4)
    ]

    assert [sign for sign in signs if sign.isprintable() and glyphs._can_show([sign])] == []


def test_each_sign_is_asked_for_once(monkeypatch):
    asked = []
    monkeypatch.setattr(glyphs, "_KNOWN", {})
    monkeypatch.setattr(glyphs, "_can_show", lambda signs: asked.append(list(signs)) or "ผ" not in signs)

    first, second = printable("ᾱ ผ ᾱ"), printable("ผ")

    assert (first[0], second[0]) == (f"ᾱ {MARK} ᾱ", MARK)
    assert asked == [["ผ", "ᾱ"], ["ผ"], ["ᾱ"]]


def test_a_text_in_a_script_without_a_font_does_not_ask_for_ever(monkeypatch):
    asked = []
    monkeypatch.setattr(glyphs, "_KNOWN", {})
    monkeypatch.setattr(glyphs, "_can_show", lambda signs: asked.extend(signs))
    text = "".join(chr(0x1401 + i) for i in range(350))  # Canadian syllables

    shown, _ = printable(text)

    assert shown == MARK * 350
    assert len(set(asked)) == glyphs.MOST_TRIED


@settings(max_examples=60)
@given(st.text(max_size=40))
def test_the_plain_form_of_any_text_can_be_set(text):
    shown, _ = plain(text)

    assert glyphs._can_show([shown])


def test_the_compiler_says_what_it_cannot_show():
    with pytest.raises(UnsettableTextError, match="could not be displayed"):
        glyphs.typeset(b'#set document(title: "x")\n\xe4\xb8\xad', folder=glyphs.HERE)
