"""The glossary in French: every word of it, in the order of a French reader."""

from django.utils.translation import override

from core.calc.folding import words_of
from core.calc.glossary import TERMS, terms_by_word

ALIKE = {"CBR", "D15, D50, D85", "Zone"}


def test_every_word_is_there_with_its_meaning():
    with override("fr"):
        said = terms_by_word()

    for term in said:
        english = TERMS[term.key]
        assert term.word != english.word or term.word in ALIKE
        assert term.meaning != english.meaning
        assert not english.computed or term.computed != english.computed


def test_a_word_with_an_accent_stands_where_a_reader_looks_for_it():
    with override("fr"):
        words = [term.word for term in terms_by_word()]

    assert words == sorted(words, key=words_of)
    assert words.index("Durée de vidange") < words.index("Écart") < words.index("En tout")
