"""Measured values in templates: the person's units, never without a unit."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import template
from django.template.defaultfilters import floatformat
from django.utils.dates import MONTHS
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.calc.format import NOTHING, figure, format_rate, percent, size_number, whole
from core.calc.marks import marked
from core.calc.nominal import spoken
from core.calc.units import Quantity, UnitSystem, unit_of
from core.presentation.measures import measure, sign, with_unit
from qa.calc.rounds import Rate, Summary
from qa.calc.sieves import sieve_text
from qa.models import InfiltrationTest
from qa.presentation.readings_table import Line
from qa.presentation.result_figures import result_of

register = template.Library()
for said in (figure, percent, whole):
    register.filter(said)


@register.filter
def rate(value: float | None, units: str) -> SafeString | str:
    return measure(value, Quantity.RATE, units)


@register.filter
def result(test: InfiltrationTest, units: str) -> SafeString:
    """What a test found: the rate with its bound, or a method's own value."""
    return result_of(test, units)


@register.filter
def bounded_rate(found: Rate | Summary, units: str) -> SafeString:
    """A rate with the sign of a bound before it."""
    return format_html("{}{}", sign(found.bound), measure(found.rate_mm_h, Quantity.RATE, units))


@register.filter
def area(value: float | None, units: str) -> SafeString | str:
    return measure(value, Quantity.AREA, units)


@register.filter
def short_length(value: float | None, units: str) -> SafeString | str:
    return measure(value, Quantity.SHORT_LENGTH, units)


@register.filter
def size(value: float | None, units: str) -> SafeString | str:
    """A size of something built: inches in the fractions of a rule."""
    if not isinstance(value, int | float):
        return NOTHING
    number = size_number(value, units)
    unit = unit_of(Quantity.SHORT_LENGTH, UnitSystem(units))
    return format_html('<span class="num">{}\u00a0<span class="unit">{}</span></span>', number, unit)


@register.filter
def sieve(opening_mm: float, units: str) -> str:
    """A sieve by what it is called where these units are used."""
    return sieve_text(opening_mm, UnitSystem(units))


@register.filter
def trade_name(text: str, units: str) -> str:
    """Words with a pair of sizes in them, as a person of these units says them."""
    return spoken(text, UnitSystem(units))


@register.filter
def long_length(value: float | None, units: str) -> SafeString | str:
    return measure(value, Quantity.LENGTH, units)


@register.filter
def mass(value: float | None, units: str) -> SafeString | str:
    return measure(value, Quantity.MASS, units)


@register.filter
def pressure(value: float | None, units: str) -> SafeString | str:
    return measure(value, Quantity.PRESSURE, units)


@register.filter
def temperature(value: float | None, units: str) -> SafeString | str:
    return measure(value, Quantity.TEMPERATURE, units)


@register.filter
def volume(value: float | None, units: str) -> SafeString | str:
    return measure(value, Quantity.VOLUME, units)


@register.filter
def in_unit(number: float | str | None, unit: str) -> SafeString | str:
    """A number with the unit it is stored in; empty where there is none, for what is said then differs."""
    if number in (None, ""):
        return ""
    return with_unit(number if isinstance(number, str) else figure(number), unit)


@register.filter
def rate_text(value: Any, units: str) -> str:
    return format_rate(None if value == "" else value, units)


@register.filter
def places(value: float | None, number: int) -> str:
    """A number to so many decimals, as the reader's language marks them; empty where there is none."""
    return marked(floatformat(value, number))


@register.filter
def entered(value: float | None) -> str:
    """A reading as it was written down, with every digit it had."""
    return NOTHING if value is None else f"{value:.10g}"


@register.filter
def reading(line: Line) -> SafeString | str:
    """One reading as it was written down, with its unit."""
    value = marked(entered(line.value)) if isinstance(line.value, float) else line.value
    return format_html('{}\u00a0<span class="unit">{}</span>', value, line.unit) if line.unit else value


@register.filter
def unlocalized(value: float) -> str:
    """A number for a data attribute: digits and a point, whatever the language."""
    return repr(float(value))


@register.filter
def months(numbers: Iterable[int]) -> str:
    """Months by name, as a year runs."""
    return ", ".join(str(MONTHS[number]) for number in sorted(numbers)) or _("none")


@register.filter
def days_from(value: date, today: date) -> str:
    """How far off a day is, in the words people use."""
    days = (value - today).days
    if days < 0:
        return _how_late(-days)
    if days == 0:
        return _("today")
    if days < 14:
        return ngettext("in {count} day", "in {count} days", days).format(count=days)
    if days < 60:
        return _("in {count} weeks").format(count=days // 7)
    return _("in {count} months").format(count=round(days / 30.4))


def _how_late(days: int) -> str:
    if days < 60:
        return ngettext("{count} day late", "{count} days late", days).format(count=days)
    if days < 730:
        return _("{count} months late").format(count=round(days / 30.4))
    return _("{count} years late").format(count=days // 365)
