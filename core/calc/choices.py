"""Lists of choices: each value that is stored, with the label people read. Known to formulas and models alike.

Django's own lists of choices cannot be used by formulas, which know nothing of Django; a model takes
`choices=SomeChoice.choices` from one of these. Labels are written in English and read in the reader's language, so
`choices` is called whenever a list is shown.
"""

from collections.abc import Sequence
from enum import EnumType, IntEnum, StrEnum
from functools import cache
from typing import Any, Self

from core.calc.translation import gettext, language


class ChoiceType(EnumType):
    """Adds what forms and models read of a list of choices."""

    def choices(cls) -> list[tuple[Any, str]]:
        """Value and label of each, in the order they are written."""
        return list(_choices(cls, language()))

    @property
    def values(cls) -> list[Any]:
        """The stored values, in the order they are written."""
        return [value for value, _ in cls.choices()]


@cache
def _choices(kind: ChoiceType, _language: str) -> Sequence[tuple[Any, str]]:
    """The choices in a language, looked up once: a form of ten lists asks for each of them several times."""
    members: list[Any] = list(kind)
    return tuple((member.value, member.label) for member in members)


class TextChoice(StrEnum, metaclass=ChoiceType):
    """A stored word and its label: `RING = "ring", "Constant-head single ring"`."""

    written: str  # the label as it stands in the code, in English

    def __new__(cls, value: str, label: str = "") -> Self:
        """The member of that value; it compares and prints as the stored word. Finding one needs no label."""
        member = str.__new__(cls, value)
        member._value_ = value
        member.written = label
        return member

    @property
    def label(self) -> str:
        """The label in the reader's language."""
        return gettext(self.written)

    @property
    def in_sentence(self) -> str:
        """The label as it stands within a sentence."""
        return self.label[:1].lower() + self.label[1:]


class NumberChoice(IntEnum, metaclass=ChoiceType):
    """A stored number and its label: `CARS = 1, "Cars"`."""

    written: str

    def __new__(cls, value: int, label: str = "") -> Self:
        """The member of that value; it compares as the stored number. Finding one needs no label."""
        member = int.__new__(cls, value)
        member._value_ = value
        member.written = label
        return member

    @property
    def label(self) -> str:
        """The label in the reader's language."""
        return gettext(self.written)
