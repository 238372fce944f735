"""A test's readings as they were taken, in words and units, for pages and reports."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from core.calc.format import format_rate, labelled
from core.calc.marks import marked
from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from qa.calc.field_tests import FIELD_TESTS, Entry, Measures, evaluate_field_test, flood_rates_mm_h
from qa.calc.methods import LEVEL_WITHIN, METHODS, falling_head_by_ratio, levelled_off, ring_range_mm_h
from qa.calc.numbers import short
from qa.models import InfiltrationTest


@dataclass(frozen=True, slots=True)
class Line:
    """One reading: what, the number or words, the unit (empty for words)."""

    label: str
    value: float | str
    unit: str = ""

    def in_words(self) -> str:
        """The reading as plain text."""
        value = self.value if isinstance(self.value, str) else marked(f"{self.value:.10g}")
        return f"{self.label.lower()} {value} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class ConvertedRange:
    """What a ring test might have read, by one publication. Rates in mm/h."""

    low_mm_h: float
    high_mm_h: float
    source: str


def lines_of(test: InfiltrationTest) -> list[Line]:
    """Every reading of a test, in its own units."""
    return list(_ring_lines(test) if test.is_ring else _field_lines(test))


def converted_ranges(test: InfiltrationTest) -> list[ConvertedRange]:
    """The published ranges that a rate converts to; empty for methods without one."""
    method = TestMethod(test.method)
    if test.rate_mm_h is None or ring_range_mm_h(method, test.rate_mm_h) is None:
        return []
    low, high = ring_range_mm_h(method, test.rate_mm_h) or (0.0, 0.0)
    second = falling_head_by_ratio(test.rate_mm_h)
    return [
        ConvertedRange(low, high, "Li, Kayhanian & Harvey 2013, J. Environ. Manage. 118:144-152"),
        ConvertedRange(second.low_mm_h or 0.0, second.high_mm_h or 0.0, second.source.citation),
    ]


def finding_of(test: InfiltrationTest) -> str:
    """What a method without a rate says, in words."""
    if test.gives_rate:
        return ""
    return evaluate_field_test(TestMethod(test.method), test.readings, UnitSystem(test.unit_system)).said


def caution_of(test: InfiltrationTest) -> str:
    """What the method's number may not be taken for."""
    return METHODS[TestMethod(test.method)].caution


def _ring_lines(test: InfiltrationTest) -> Iterator[Line]:
    units = test.units
    readings = (
        (_("Prewet mass"), test.prewet_mass, units["mass"]),
        (_("Prewet time"), test.prewet_time_s, "s"),
        (_("Started after"), test.start_delay_s, "s"),
        (_("Test mass"), test.test_mass, units["mass"]),
        (_("Ring, inside diameter"), test.ring_diameter, units["length"]),
        (_("Elapsed time"), test.elapsed_s, "s"),
        (_("After the first test at the spot"), test.minutes_since_first, "min"),
    )
    for label, value, unit in readings:
        if value is not None:
            yield Line(label, value, unit)
    if test.prewet_time_s is None:
        yield Line(_("Prewetting"), _("not recorded") if test.rewetted else _("none for this repeat"))
    if test.ring_position:
        yield Line(_("Position on the joints"), test.ring_position)
    if test.seal:
        yield Line(_("Sealed with"), test.get_seal_display())
    yield _leak_line(test)


def _leak_line(test: InfiltrationTest) -> Line:
    return Line(_("Leak past the seal"), _("seen") if test.leak_seen else _("none seen"))


def _field_lines(test: InfiltrationTest) -> Iterator[Line]:
    field_test = FIELD_TESTS[TestMethod(test.method)]
    system = UnitSystem(test.unit_system)
    read = test.readings
    for entry in field_test.fixed:
        if read.once.get(entry.key) is not None:
            yield _line(entry, read.once[entry.key], system, "")
    for number, run in enumerate(read.runs, start=1):
        for entry in field_test.repeated:
            yield _line(entry, run[entry.key], system, labelled(f"{field_test.run_name} {number}", ""))
    if test.method == TestMethod.FLOODING:
        yield from _floodings_that_count(test, system)
    if field_test.sealed:
        yield _leak_line(test)


def _floodings_that_count(test: InfiltrationTest, system: UnitSystem) -> Iterator[Line]:
    """Which runs the rate is the mean of, and why the others are not in it."""
    rates = flood_rates_mm_h(test.readings, system)
    first = len(rates) - levelled_off(rates)
    yield Line(
        _("Counted: {floodings}").format(floodings=_numbered(first + 1, len(rates))),
        _("{rates}, the last that agree within a factor of {factor}").format(
            rates=_from_to(rates[first:], system), factor=short(LEVEL_WITHIN)
        ),
    )
    if first:
        said = _("{rates}, before the rate had levelled off on a saturated build-up")
        left_out = _("Left out: {floodings}").format(floodings=_numbered(1, first))
        yield Line(left_out, said.format(rates=_from_to(rates[:first], system)))


def _numbered(first: int, last: int) -> str:
    if first == last:
        return _("flooding {number}").format(number=first)
    return _("floodings {first} to {last}").format(first=first, last=last)


def _from_to(rates: Sequence[float], system: UnitSystem) -> str:
    low, high = format_rate(min(rates), system), format_rate(max(rates), system)
    return low if low == high else _("{low} to {high}").format(low=low, high=high)


def _line(entry: Entry, value: Any, system: UnitSystem, before: str) -> Line:
    label = before + (entry.label[0].lower() + entry.label[1:] if before else entry.label)
    if entry.measures is Measures.YES:
        return Line(label, _("yes") if value else _("no"))
    unit = "m²/L" if entry.measures is Measures.LOOKED_UP else entry.unit(system)
    return Line(label, value, unit)
