"""A word that is not plain, and what it means."""

from dataclasses import dataclass

from core.calc.translation import gettext as _


@dataclass(frozen=True, slots=True)
class Term:
    """A word as it stands on pages, and what it means. computed: how its figure is worked out, where it is one."""

    key: str
    word: str
    meaning: str
    computed: str = ""

    @property
    def said(self) -> "Term":
        """The same in the reader's language."""
        return Term(self.key, _(self.word), _(self.meaning), _(self.computed))
