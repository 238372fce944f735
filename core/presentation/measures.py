"""Measured values as markup: the person's units, never without a unit."""

from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString

from core.calc.bounds import Bound
from core.calc.format import NOTHING
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display


def measure(value: Any, quantity: Quantity, units: str) -> SafeString | str:
    """A stored SI value in the person's units. Templates give "" for what does not exist."""
    if value in (None, ""):
        return NOTHING
    shown = to_display(float(value), quantity, UnitSystem(units))
    return with_unit(rounded_for_reading(shown.value), shown.unit)


def with_unit(number: str, unit: str) -> SafeString:
    """A number that is already text, with its unit."""
    return format_html('<span class="num">{}\u00a0<span class="unit">{}</span></span>', number, unit)


def sign(bound: Bound | str) -> str:
    """What stands before a number that is a bound; nothing before an exact one."""
    return "" if bound == Bound.EXACT else f"{bound} "
