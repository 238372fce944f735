"""Sizes as each half of the trade prints them: an inch size is not a millimetre size multiplied by anything.

A bedding of 40 to 50 mm is one of 1 1/2 to 2 in to whoever builds by inches, though 2 in are 50.8 mm. What is asked or
proposed therefore carries both figures, and a sentence with a size in it both texts: "a {3 m|10 ft} straightedge".
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from core.calc.units import UnitSystem, rounded_for_reading

_PAIR = re.compile(r"\{([^{}|]*)\|([^{}|]*)\}")
_FRACTION = re.compile(r"(?:(\d+)[ \u00a0-])?(\d+)/(\d+)")
_TYPED_FRACTIONS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_COARSE, _FINE, _FINE_BELOW_IN = 16, 64, 0.25
_A_HAIR_IN = 2e-4


@dataclass(frozen=True, slots=True)
class Nominal:
    """One size in both systems, each figure in the unit its own system uses for the quantity."""

    si: float
    us: float

    def in_system(self, system: UnitSystem) -> float:
        """The figure of a system."""
        return self.si if system is UnitSystem.SI else self.us


def spoken(text: str, system: UnitSystem) -> str:
    """A sentence with its paired sizes as one half of the trade says them. Text without pairs comes back as it is."""
    return _PAIR.sub(lambda found: found[1 if system is UnitSystem.SI else 2], text)


def inches_text(length_in: float, digits: int = 3) -> str:
    """Inches as a rule shows them: "2 1/2" where it is a sixteenth (below 1/4 in a 64th), else decimals."""
    parts = _FINE if abs(length_in) < _FINE_BELOW_IN else _COARSE
    whole = round(length_in * parts)
    if not whole or abs(whole / parts - length_in) > _A_HAIR_IN:
        return rounded_for_reading(length_in, digits)
    size = Fraction(abs(whole), parts)
    full, rest = divmod(size.numerator, size.denominator)
    said = " ".join(part for part in (str(full) if full else "", _part(rest, size.denominator)) if part)
    return f"-{said}" if whole < 0 else said


def _part(numerator: int, denominator: int) -> str:
    return f"{numerator}/{denominator}" if numerator else ""


def plain_number(text: str) -> str:
    """A size typed with a fraction, such as "2 1/2" or "3/8", as a decimal number; other text as it is."""
    for sign, parts in _TYPED_FRACTIONS.items():
        text = text.replace(sign, parts)
    bare = text.strip()
    sign, bare = ("-", bare[1:].strip()) if bare.startswith("-") else ("", bare)
    found = _FRACTION.fullmatch(bare)
    if found is None or int(found[3]) == 0:
        return text
    return f"{sign}{int(found[1] or 0) + int(found[2]) / int(found[3])!r}"
