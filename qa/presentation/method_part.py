"""What one method says of a round, as its part of the page shows it."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from core.calc.format import counted, figure, format_rate
from core.calc.units import Quantity, UnitSystem, unit_of
from core.presentation.charts import Chart
from core.presentation.figures import Figure
from core.presentation.measures import measure, sign
from qa.calc.rounds import Rate, Summary
from qa.models import InfiltrationTest, TestRound
from qa.presentation.readings_table import Line, lines_of
from qa.presentation.spot_chart import spots_figure, spots_table
from qa.presentation.worked import Worked, worked_mean
from qa.selectors.rounds import FACTORS, MethodResult, SpotResult

TELLS_LITTLE = 10.0  # a range wider than this factor either way is no range to work with


@dataclass(frozen=True, slots=True)
class TestLine:
    """A test with its readings."""

    __test__ = False

    test: InfiltrationTest
    lines: Sequence[Line]


@dataclass(frozen=True, slots=True)
class SpotLine:
    """A spot with its tests in order. may_be_repeated: whether a second test would count with the first."""

    spot: SpotResult
    tests: Sequence[TestLine]
    may_be_repeated: bool

    @property
    def mean_of(self) -> str:
        """Which of several tests the rate is the mean of."""
        # Translators: stands behind "mean of": two tests, the first two tests.
        return {1: "", 2: pgettext("tests", "two")}.get(len(self.tests), _("the first two"))


@dataclass(frozen=True, slots=True)
class FactorChoice:
    """A factor that may be asked about."""

    value: float
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class MethodPart:
    """known_within: the factor from the surface's geometric mean to the ends of its range; None without one.

    factor, more: the factor asked about, of `FACTORS`, and the spots it would take beyond those tested.
    """

    round: TestRound
    result: MethodResult
    figures: Sequence[Figure]
    chart: Chart
    spots: Sequence[SpotLine]
    known_within: float | None
    factor: float
    more: int | None
    worked: Worked | None = None

    @property
    def factor_choices(self) -> list[FactorChoice]:
        """The factors that may be asked about."""
        return [FactorChoice(value, value == self.factor) for value in FACTORS]

    @property
    def tells_little(self) -> bool:
        """Whether the surface's mean may lie anywhere."""
        return self.known_within is not None and self.known_within > TELLS_LITTLE


def method_part(result: MethodResult, round_: TestRound, units: str, factor: float) -> MethodPart:
    """Put together what the round's page shows of one method."""
    return MethodPart(
        round=round_,
        result=result,
        figures=method_figures(result, round_.surface.limit_mm_h, units),
        chart=spots_chart(result, round_, units),
        spots=[_spot_line(spot, round_, result) for spot in result.spots],
        known_within=known_within(result),
        factor=factor,
        more=result.still_to_test(factor),
        worked=worked_mean([spot.rate for spot in result.spots], units),
    )


def _spot_line(spot: SpotResult, round_: TestRound, result: MethodResult) -> SpotLine:
    once_at_location = spot.location is not None and len(spot.tests) == 1
    return SpotLine(
        spot=spot,
        tests=[TestLine(test, lines_of(test)) for test in spot.tests],
        may_be_repeated=result.is_ring and round_.is_active and once_at_location,
    )


def known_within(result: MethodResult) -> float | None:
    """The factor from the surface's geometric mean to the ends of its range."""
    surface = result.statistics.surface
    return surface.high_mm_h / surface.geometric_mean_mm_h if surface else None


def spots_chart(result: MethodResult, round_: TestRound, units: str) -> Chart:
    """Each spot beside the limit."""
    return Chart(
        key=f"spots-chart-{result.method.value}",
        figure=spots_figure(result, round_.surface.limit_mm_h, units),
        title=_("Spots against the limit, in {unit}").format(unit=unit_of(Quantity.RATE, UnitSystem(units))),
        summary=_in_words(result, round_, units),
        columns=(_("Spot"), _("Rate")),
        rows=spots_table(result.spots, units),
    )


def _in_words(result: MethodResult, round_: TestRound, units: str) -> str:
    low, high = result.statistics.lowest.rate_mm_h, result.statistics.highest.rate_mm_h
    limit = format_rate(round_.surface.limit_mm_h, units)
    # Translators: {method} is for instance "flooding test".
    said = _("{spots} by {method}, from {low} to {high}, beside the limit of {limit}.")
    return said.format(
        spots=counted(len(result.spots), "spot"),
        method=result.method.in_sentence,
        low=format_rate(low, units),
        high=format_rate(high, units),
        limit=limit,
    )


def method_figures(result: MethodResult, limit_mm_h: float, units: str) -> list[Figure]:
    """The means of the spots, and how many lie below the limit."""
    return [
        _mean(result, units),
        _median(result, units),
        _geometric_mean(result, units),
        _below_limit(result, limit_mm_h, units),
    ]


def _mean(result: MethodResult, units: str) -> Figure:
    by_standard = _("arithmetic, the figure the test standards report")
    kind = by_standard if result.is_ring else _("arithmetic, as this method measured")
    value = _rate(result.statistics.mean, units)
    return Figure(
        _("Mean of {spots}").format(spots=counted(len(result.spots), "spot")),
        value,
        kind,
        wet=True,
        term="arithmetic_mean",
    )


def _median(result: MethodResult, units: str) -> Figure:
    found = result.statistics
    ends = _("lowest {low}, highest {high}").format(
        low=_rate_text(found.lowest, units), high=_rate_text(found.highest, units)
    )
    return Figure(_("Median and lowest"), _rate(found.median, units), ends, term="median")


def _geometric_mean(result: MethodResult, units: str) -> Figure:
    value = _rate(result.statistics.geometric_mean, units)
    return Figure(_("Geometric mean"), value, _surface_range(result, units), term="geometric_mean")


def _surface_range(result: MethodResult, units: str) -> str:
    surface, within = result.statistics.surface, known_within(result)
    if surface is None or within is None:
        return _("no range from so few readings")
    if within > TELLS_LITTLE:
        return _("the range for the surface is wider than a factor of ten")
    low, high = format_rate(surface.low_mm_h, units), format_rate(surface.high_mm_h, units)
    said = _("95 % range for the surface {low} to {high}; spots differ by a factor of {factor}")
    return said.format(low=low, high=high, factor=figure(surface.spread_factor))


def _below_limit(result: MethodResult, limit_mm_h: float, units: str) -> Figure:
    against = result.against_limit
    label = _("Spots below the limit, converted") if result.converted else _("Spots below the limit")
    value = format_html(
        _('{below} <span class="unit">of {spots}</span>'), below=against.below, spots=len(result.spots)
    )
    limit = _held_against(result).format(limit=format_rate(limit_mm_h, units))
    if against.undecided:
        cannot = ngettext("{count} cannot be told", "{count} cannot be told", against.undecided)
        limit = f"{limit}; {cannot.format(count=against.undecided)}"
    return Figure(label, value, limit, term="limit")


def _held_against(result: MethodResult) -> str:
    if result.converted:
        return _("limit {limit}, held against what a ring might have read")
    if result.is_ring:
        return _("limit {limit}")
    return _("limit {limit}, held against the rate as this method measured it")


def _rate(found: Rate | Summary, units: str) -> str:
    return format_html("{}{}", sign(found.bound), measure(found.rate_mm_h, Quantity.RATE, units))


def _rate_text(found: Rate | Summary, units: str) -> str:
    return f"{sign(found.bound)}{format_rate(found.rate_mm_h, units)}"
