"""Words that explain themselves where they stand."""

from typing import Any

from django import template

from core.calc.glossary import TERMS

register = template.Library()


@register.inclusion_tag("parts/_term.html")
def term(key: str, word: str = "") -> dict[str, Any]:
    """A word with its meaning behind it. word: as it stands here, where that differs from the glossary's.

    Raises KeyError for a word that the glossary does not have.
    """
    found = TERMS[key].said
    return {"term": found, "word": word or found.word}


@register.inclusion_tag("parts/_words.html")
def words(*keys: str) -> dict[str, Any]:
    """The words of what follows, each with its meaning behind it: for tables, whose heads have no room for them.

    Raises KeyError for a word that the glossary does not have.
    """
    return {"terms": [TERMS[key].said for key in keys]}
