"""What one test found, large, and what a ring might have read in its place."""

from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from core.calc.format import figure, format_rate
from core.calc.paving import TestMethod
from core.calc.units import Quantity
from core.presentation.figures import Figure
from core.presentation.measures import measure, sign, with_unit
from qa.models import InfiltrationTest
from qa.presentation.readings_table import ConvertedRange, converted_ranges, finding_of


def result_of(test: InfiltrationTest, units: str) -> SafeString:
    """The rate with its bound, or the value of a method that gives no rate."""
    if not test.gives_rate:
        return with_unit(figure(test.own_value), test.own_unit)
    return format_html("{}{}", sign(test.bound), measure(test.rate_mm_h, Quantity.RATE, units))


def figures_of(test: InfiltrationTest, units: str) -> list[Figure]:
    """The result of the test; then each published range that it converts to."""
    ended = test.get_ended_display() if test.gives_rate else finding_of(test)
    found = Figure(
        _what(test), result_of(test, units), ended, wet=True, term="rate" if test.gives_rate else ""
    )
    return [found, *(_converted(each, units) for each in converted_ranges(test))]


def _what(test: InfiltrationTest) -> str:
    if test.is_ring:
        return _("Rate over the area of the ring")
    if test.gives_rate:
        return _("Rate as this method measured it")
    if test.method == TestMethod.SPREADING_AREA:
        return _("Spread, screening only, not a rate")
    return _("Relative conductivity, not a rate")


def _converted(found: ConvertedRange, units: str) -> Figure:
    low, high = format_rate(found.low_mm_h, units), format_rate(found.high_mm_h, units)
    return Figure(
        _("Converted: a ring might have read"),
        _("{low} to {high}").format(low=low, high=high),
        _("not measured; {source}").format(source=found.source),
    )
