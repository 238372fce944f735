"""Measured values in templates: the person's units, never without a unit."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import template
from django.utils.dates import MONTHS
from django.utils.html import format_html
from django.utils.safestring import SafeString

from core.calc.format import NOTHING, day, figure, format_rate, percent, whole
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display

register = template.Library()
for spoken in (figure, percent, day, whole):
    register.filter(spoken)


def shown(value: Any, quantity: Quantity, units: str) -> SafeString | str:
    """A stored SI value as HTML in the person's units. Templates give "" for what does not exist."""
    if value in (None, ""):
        return NOTHING
    measure = to_display(float(value), quantity, UnitSystem(units))
    return format_html(
        '<span class="num">{}\u00a0<span class="unit">{}</span></span>',
        rounded_for_reading(measure.value),
        measure.unit,
    )


@register.filter
def rate(value: float | None, units: str) -> SafeString | str:
    return shown(value, Quantity.RATE, units)


@register.filter
def area(value: float | None, units: str) -> SafeString | str:
    return shown(value, Quantity.AREA, units)


@register.filter
def short_length(value: float | None, units: str) -> SafeString | str:
    return shown(value, Quantity.SHORT_LENGTH, units)


@register.filter
def long_length(value: float | None, units: str) -> SafeString | str:
    return shown(value, Quantity.LENGTH, units)


@register.filter
def mass(value: float | None, units: str) -> SafeString | str:
    return shown(value, Quantity.MASS, units)


@register.filter
def temperature(value: float | None, units: str) -> SafeString | str:
    return shown(value, Quantity.TEMPERATURE, units)


@register.filter
def volume(value: float | None, units: str) -> SafeString | str:
    return shown(value, Quantity.VOLUME, units)


@register.filter
def rate_text(value: Any, units: str) -> str:
    return format_rate(None if value == "" else value, units)


@register.filter
def entered(value: float | None) -> str:
    """A reading as it was written down, with every digit it had."""
    return NOTHING if value is None else f"{value:.10g}"


@register.filter
def unlocalized(value: float) -> str:
    """A number for a data attribute: digits and a point, whatever the language."""
    return repr(float(value))


@register.filter
def months(numbers: Iterable[int]) -> str:
    """Months by name, as a year runs."""
    return ", ".join(str(MONTHS[number]) for number in sorted(numbers)) or "none"


@register.filter
def days_from(value: date, today: date) -> str:
    """How far off a day is, in the words people use."""
    days = (value - today).days
    if days < 0:
        return _how_late(-days)
    if days == 0:
        return "today"
    if days < 14:
        return f"in {days} day{'s' if days > 1 else ''}"
    if days < 60:
        return f"in {days // 7} weeks"
    return f"in {round(days / 30.4)} months"


def _how_late(days: int) -> str:
    if days < 60:
        return f"{days} day{'s' if days > 1 else ''} late"
    if days < 730:
        return f"{round(days / 30.4)} months late"
    return f"{days // 365} years late"
