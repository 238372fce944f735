"""Sieves by their opening and by what they are called.

Source: openings and US names of ASTM E11 (those of the coarse sizes looked up with their table of sizes, the finer ones
from memory).
"""

from core.calc.format import format_size
from core.calc.units import UnitSystem
from qa.calc.numbers import short

SIEVE_NAMES = {
    75.0: "3 in",
    63.0: "2½ in",
    50.0: "2 in",
    37.5: "1½ in",
    25.0: "1 in",
    19.0: "¾ in",
    12.5: "½ in",
    9.5: "⅜ in",
    4.75: "No. 4",
    2.36: "No. 8",
    1.18: "No. 16",
    0.6: "No. 30",
    0.3: "No. 50",
    0.15: "No. 100",
    0.075: "No. 200",
}
SAME_SIEVE_SHARE = 0.02  # 3/8 in are 9.525 mm and called the 9.5 mm sieve; so are sizes rounded to a tenth


def sieve_label(sieve_mm: float) -> str:
    """The opening in mm with its US name where it has one."""
    name = SIEVE_NAMES.get(sieve_mm)
    return f"{short(sieve_mm)} mm ({name})" if name else f"{short(sieve_mm)} mm"


def stone_size_text(size_mm: float, system: UnitSystem) -> str:
    """A stone's size with its unit; in the US by the sieve that is meant, such as "No. 8" or "3/8 in"."""
    if system is UnitSystem.SI:
        return format_size(size_mm, system)
    nearest = min(SIEVE_NAMES, key=lambda opening: abs(opening - size_mm))
    if abs(nearest - size_mm) > SAME_SIEVE_SHARE * nearest:
        return format_size(size_mm, system)
    return SIEVE_NAMES[nearest]


def sieve_text(sieve_mm: float, system: UnitSystem) -> str:
    """A sieve by what it is called: its opening in mm, in the US its name, or the opening where it has none."""
    name = SIEVE_NAMES.get(sieve_mm)
    return name if name and system is UnitSystem.US else f"{short(sieve_mm)} mm"
