"""What the scripts of a page say, in the reader's language: JSON in the page, so that it is there without signal."""

from functools import lru_cache
from pathlib import Path

from babel.messages.mofile import read_mo
from django.conf import settings
from django.utils.html import json_script
from django.utils.safestring import SafeString

from core.calc.translation import SOURCE_LANGUAGE, language
from core.services.catalogues import catalogue_path

BLOCK = "script-words"  # the id that static/js/words.js looks for
Texts = dict[str, str | list[str]]


def script_words() -> SafeString:
    """The block for the reader's language; empty where that is the one in which the scripts are written."""
    return SafeString("") if language() == SOURCE_LANGUAGE else _block(language())


@lru_cache
def _block(tongue: str) -> SafeString:
    texts = texts_of(catalogue_path(settings.BASE_DIR, "core", tongue, "djangojs").with_suffix(".mo"))
    return json_script({"language": tongue, "texts": texts}, BLOCK)


def texts_of(path: Path) -> Texts:
    """What each text of a compiled catalogue is in its language; a text that is counted by its singular, as a pair."""
    if not path.exists():
        return {}
    with path.open("rb") as file:
        said = [(message.id, message.string) for message in read_mo(file) if message.id]
    return {
        text if isinstance(text, str) else text[0]: other if isinstance(other, str) else list(other or ())
        for text, other in said
    }
