"""A check's bounds and readings in the units a person prefers; bounds are kept in SI."""

from dataclasses import replace

from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display, unit_of
from qa.calc.check_model import Check

QUANTITIES = {"mm": Quantity.SHORT_LENGTH, "mm/h": Quantity.RATE, "°C": Quantity.TEMPERATURE}
BOUND_DIGITS = 4


def quantity_of(unit: str) -> Quantity | None:
    """What a check's unit measures; None where everybody reads the same unit (%, h, passes)."""
    return QUANTITIES.get(unit)


def shown_unit(unit: str, system: UnitSystem) -> str:
    """The unit to print beside a reading."""
    quantity = quantity_of(unit)
    return unit_of(quantity, system) if quantity else unit


def shown_value(value: float, unit: str, system: UnitSystem) -> float:
    """A stored reading or bound as the person reads it."""
    quantity = quantity_of(unit)
    return to_display(value, quantity, system).value if quantity else value


def reading_text(value: float, unit: str, system: UnitSystem) -> str:
    """A reading with its unit, in words."""
    number = rounded_for_reading(shown_value(value, unit, system), BOUND_DIGITS)
    return f"{number} {shown_unit(unit, system)}".strip()


def in_units(check: Check, system: UnitSystem) -> Check:
    """The check with its bounds in a person's units, for its wording only; judge by the stored one."""
    if system is UnitSystem.SI or quantity_of(check.unit) is None:
        return check
    least = _bound(check.least, check.unit, system)
    most = _bound(check.most, check.unit, system)
    return replace(check, least=least, most=most, unit=shown_unit(check.unit, system))


def _bound(value: float | None, unit: str, system: UnitSystem) -> float | None:
    return None if value is None else round(shown_value(value, unit, system), 2)
