"""The same texts in each language, for sheets whose words nobody knows the language of."""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from typing import TypeVar

from core.calc.languages import Language

T = TypeVar("T")
Speaking = Callable[[str], AbstractContextManager[object]]
_speaking: list[Speaking] = [nullcontext]


def speak_by(speaking: Speaking) -> None:
    """Say how texts are looked up in a given language for a while; `exchange/apps.py` knows."""
    _speaking[:] = [speaking]


def in_every_language(say: Callable[[], T]) -> list[T]:
    """What a function says in each language, English first."""
    found = []
    for language in Language:
        with _speaking[0](language.value):
            found.append(say())
    return found
