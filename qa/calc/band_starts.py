"""Sieves of standards and local specifications to start a band of one's own from; the limits are theirs to give.

Sets of EN 13242 and EN 933-2, of Canadian specifications and of ASTM E11: sieve openings from memory, verify
against the current edition. No limits are given here: they are entered from the firm's copy.
"""

from dataclasses import dataclass
from types import MappingProxyType

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from qa.calc.sieves import SIEVE_NAMES


@dataclass(frozen=True, slots=True)
class BandStart:
    """Sieves in mm, coarse first, with a label and the words that the source of the band begins with, in English."""

    written: str
    source_written: str
    sieves_mm: tuple[float, ...]

    @property
    def label(self) -> str:
        """What it is called, in the reader's language."""
        return _(self.written)

    @property
    def source(self) -> str:
        """How the source of the band begins, in the reader's language."""
        return _(self.source_written)


_BASIC = (80.0, 63.0, 31.5, 16.0, 8.0, 4.0, 2.0, 1.0, 0.063)
_SET_1 = (45.0, 22.4, 11.2, 5.6)
_SET_2 = (40.0, 20.0, 14.0, 12.5, 10.0, 6.3)

STARTS = MappingProxyType(
    {
        "en13242-1": BandStart(
            gettext_noop("EN 13242, basic set plus set 1"),
            gettext_noop("EN 13242, category: "),
            tuple(sorted(_BASIC + _SET_1, reverse=True)),
        ),
        "en13242-2": BandStart(
            gettext_noop("EN 13242, basic set plus set 2"),
            gettext_noop("EN 13242, category: "),
            tuple(sorted(_BASIC + _SET_2, reverse=True)),
        ),
        "canada": BandStart(
            gettext_noop("Canadian local specification, metric sieves"),
            gettext_noop("Specification, table: "),
            (53.0, 37.5, 26.5, 19.0, 16.0, 13.2, 9.5, 6.7, 4.75, 2.36, 1.18, 0.3, 0.075),
        ),
        "us": BandStart(
            gettext_noop("US local specification, ASTM E11 sieves"),
            gettext_noop("Specification, table: "),
            tuple(SIEVE_NAMES),
        ),
    }
)
