"""What somebody searches for, and the kinds of things there are to be found."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from core.calc.choices import TextChoice
from core.calc.folding import MOST_WORDS, words_of
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop

LONGEST = 100  # signs that are read; each word is looked for in every row of the firm
_DAY = re.compile(r"\b\d{4}-\d{2}(?:-\d{2})?\b")


class Kind(TextChoice):
    """What can be found, in the order in which equally good finds are shown."""

    SITE = "site", "Sites"
    SURFACE = "surface", "Surfaces"
    OWNER = "owner", "Owners"
    VISIT = "visit", "Visits"

    @property
    def one(self) -> str:
        """What a single one is called."""
        return _(_ONE[self])


_ONE = {
    Kind.SITE: gettext_noop("Site"),
    Kind.SURFACE: gettext_noop("Surface"),
    Kind.OWNER: gettext_noop("Owner"),
    Kind.VISIT: gettext_noop("Visit"),
}


@dataclass(frozen=True, slots=True)
class Asked:
    """A search. words: folded, days left out; days: years and months (2026-11) or days of visits as typed."""

    text: str
    words: tuple[str, ...]
    days: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.words or self.days)

    @property
    def all_words(self) -> tuple[str, ...]:
        """Every word, for things that have no day: what was typed as one may be part of a name."""
        return (*self.words, *(part for day in self.days for part in words_of(day)))[:MOST_WORDS]


def asked_for(text: str) -> Asked:
    """Read what was typed. Only its first hundred signs count, and of its words the first eight."""
    text = text[:LONGEST].strip()
    days = tuple(_DAY.findall(text))
    return Asked(text, words_of(_DAY.sub(" ", text))[:MOST_WORDS], days)


@dataclass(frozen=True, slots=True)
class FoundLine:
    """One find: what it is called, where it leads, what tells it from its like, and how it stands if not as usual."""

    kind: Kind
    title: str
    about: str
    url: str
    tag: str = ""


@dataclass(frozen=True, slots=True)
class FoundGroup:
    """The best finds of a kind. has_more: whether there are others."""

    kind: Kind
    lines: Sequence[FoundLine]
    has_more: bool = False
