"""A construction check as it reads in one system of units; its bounds, its texts and the readings taken in it.

A bound that the trade prints in inches is judged in inches where the reading was taken in inches: 2 in of bedding is as
asked where 1 1/2 to 2 in are asked, though it is 50.8 mm.
"""

from dataclasses import replace

from core.calc.nominal import spoken
from core.calc.translation import gettext as _
from core.calc.units import Quantity, UnitSystem, from_display, to_display, unit_of
from qa.calc.check_model import Check, Criterion, Verdict, evaluate, number_text, unit_words

QUANTITIES = {
    "mm": Quantity.SHORT_LENGTH,
    "mm/h": Quantity.RATE,
    "°C": Quantity.TEMPERATURE,
    "kg/m³": Quantity.DENSITY,
}
STORED_UNITS = {unit_of(quantity, UnitSystem.US): unit for unit, quantity in QUANTITIES.items()}


def quantity_of(unit: str) -> Quantity | None:
    """What a check's unit measures; None where everybody reads the same unit (%, h, passes)."""
    return QUANTITIES.get(unit)


def shown_unit(unit: str, system: UnitSystem) -> str:
    """The unit to print beside a reading."""
    quantity = quantity_of(unit)
    return unit_of(quantity, system) if quantity else unit_words(unit)


def shown_value(value: float, unit: str, system: UnitSystem) -> float:
    """A stored reading or bound as the person reads it."""
    quantity = quantity_of(unit)
    return to_display(value, quantity, system).value if quantity else value


def stored_value(value: float, unit: str, system: UnitSystem) -> float:
    """A reading or bound in the check's unit, from how the person reads it."""
    quantity = quantity_of(unit)
    return from_display(value, quantity, system) if quantity else value


def reading_text(value: float, unit: str, system: UnitSystem) -> str:
    """A reading with its unit, in words."""
    there = shown_unit(unit, system)
    return f"{number_text(shown_value(value, unit, system), there)} {there}".strip()


def in_units(check: Check, system: UnitSystem) -> Check:
    """The check with its bounds and texts in one system, to be worded and to be judged by.

    Texts of our own list are stored in English, and come in the reader's language; those of a firm stay as they are.
    """
    worded = replace(
        check,
        asked=spoken(_(check.asked), system),
        otherwise=spoken(_(check.otherwise), system),
        each=spoken(_(check.each), system),
    )
    if system is UnitSystem.SI or quantity_of(check.unit) is None:
        return worded
    return replace(
        worded,
        least=_bound(check, check.least, check.least_us),
        most=_bound(check, check.most, check.most_us),
        unit=shown_unit(check.unit, system),
    )


def _bound(check: Check, value: float | None, printed: float | None) -> float | None:
    """A bound in the US unit; a tolerance is a difference, for which the offset of a scale does not count."""
    if value is None or printed is not None:
        return printed
    shown = shown_value(value, check.unit, UnitSystem.US)
    return shown - shown_value(0.0, check.unit, UnitSystem.US) if check.against_design else shown


def judge(check: Check, reading: float | bool, design: float | None, system: UnitSystem) -> Verdict:
    """A stored reading, in the check's SI unit, judged as it was taken: by the bounds of that system.

    design: the designed value in SI. Raises UnusableRecordError as `evaluate` does.
    """
    read = reading if isinstance(reading, bool) else shown_value(reading, check.unit, system)
    designed = None if design is None else shown_value(design, check.unit, system)
    return evaluate(in_units(check, system), read, designed)


def criterion_of(check: Check, design: float | None) -> Criterion:
    """What is kept of a check with a finding that is judged by it."""
    return Criterion(
        asked=check.asked,
        unit=check.unit,
        least=check.least,
        most=check.most,
        most_excluded=check.most_excluded,
        against_design=check.against_design,
        design=design,
        least_us=check.least_us,
        most_us=check.most_us,
    )


def as_it_was(check: Check, kept: Criterion) -> Check:
    """The check as it stood when a finding was made."""
    return replace(
        check,
        asked=kept.asked,
        unit=kept.unit,
        least=kept.least,
        most=kept.most,
        most_excluded=kept.most_excluded,
        against_design=kept.against_design,
        least_us=kept.least_us,
        most_us=kept.most_us,
    )
