"""The words that are not plain, each explained once: pages, forms and the glossary all read it from here."""

from core.calc.folding import words_of
from core.calc.glossary_a_k import A_TO_K
from core.calc.glossary_l_z import L_TO_Z
from core.calc.term import Term

TERMS = {term.key: term for term in (*A_TO_K, *L_TO_Z)}


def terms_by_word() -> list[Term]:
    """Every term in the reader's language, in the order of its words there."""
    return sorted((term.said for term in TERMS.values()), key=lambda term: words_of(term.word))
