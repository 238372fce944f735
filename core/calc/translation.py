"""Texts in the reader's language, for formulas and words that know nothing of Django.

A text stands in the code in English and is looked up in the catalogues `<app>/locale/<language>/LC_MESSAGES`. Which
language is meant is known to whoever answers a request or sends a mail; `core/apps.py` tells this module how to ask.
Where nobody told it, as in a script, the English text stands.
"""

from collections.abc import Callable
from dataclasses import dataclass
from gettext import NullTranslations

_NONE = NullTranslations()
SOURCE_LANGUAGE = "en-gb"  # what the texts in the code are written in


@dataclass(slots=True)
class _Asked:
    """How a text is looked up, and in which language at present."""

    gettext: Callable[[str], str] = _NONE.gettext
    ngettext: Callable[[str, str, int], str] = _NONE.ngettext
    pgettext: Callable[[str, str], str] = _NONE.pgettext
    language: Callable[[], str | None] = lambda: SOURCE_LANGUAGE


_asked = _Asked()


def look_up_by(
    gettext: Callable[[str], str],
    ngettext: Callable[[str, str, int], str],
    pgettext: Callable[[str, str], str],
    language: Callable[[], str | None],
) -> None:
    """Say how texts are looked up, and how the reader's language is known."""
    _asked.gettext, _asked.ngettext, _asked.pgettext, _asked.language = gettext, ngettext, pgettext, language


def gettext(text: str) -> str:
    """The text in the reader's language; as it is where a catalogue lacks it.

    In the source language it stands in no catalogue, and is not sought in those of seven libraries.
    """
    return _asked.gettext(text) if text and _asked.language() != SOURCE_LANGUAGE else text


def ngettext(one: str, many: str, number: int) -> str:
    """The text for so many things, in the reader's language."""
    return _asked.ngettext(one, many, number)


def pgettext(context: str, text: str) -> str:
    """The text as it is meant in a context, where one English word stands for two of another language."""
    return _asked.pgettext(context, text)


def gettext_noop(text: str) -> str:
    """Marks a text of a table of constants for translation; whoever shows it looks it up by `gettext`."""
    return text


def language() -> str:
    """The reader's language, as a code of BCP 47 in small letters: "en-gb", "fr"."""
    return _asked.language() or SOURCE_LANGUAGE
