"""The acceptance test and the sieve analyses in the handover record."""

from dataclasses import dataclass

from core.calc.bounds import Bound
from core.calc.format import day, figure, format_measure, format_rate
from core.calc.units import Quantity
from qa.calc.rounds import Purpose, Rate, Summary
from qa.models import InfiltrationTest, Surface, TestRound
from qa.presentation.readings_table import converted_ranges, lines_of
from qa.selectors.gradation import Grading, surface_gradation
from qa.selectors.rounds import MethodResult, RoundResult, round_result
from qa.selectors.surface_limits import acceptance_of
from reporting.presentation.handover_checks import FilePart, file_parts


@dataclass(frozen=True, slots=True)
class TestLine:
    """One ring test: the rate in the reader's units, the readings as taken."""

    __test__ = False

    spot: str
    rate: str
    read: str
    departures: list[str]


@dataclass(frozen=True, slots=True)
class RoundPart:
    """One acceptance round."""

    on: str
    by: str
    weather: str
    mean: str
    lowest: str
    spots: str
    judgement: str
    verdict: str
    reason: str
    departures: list[str]
    tests: list[TestLine]
    files: list[FilePart]


@dataclass(frozen=True, slots=True)
class AcceptancePart:
    """What is asked when new, and the rounds made for it, oldest first."""

    asked: str
    source: str
    rounds: list[RoundPart]


@dataclass(frozen=True, slots=True)
class SieveLine:
    """One sieve: percent passing, and its band."""

    sieve: str
    passing: str
    band: str
    state: str


@dataclass(frozen=True, slots=True)
class GradingPart:
    """One sieve analysis."""

    layer: str
    on: str
    by: str
    band: str
    passes: bool
    source: str
    lines: list[SieveLine]
    remarks: list[str]


def acceptance_part(surface: Surface, units: str) -> AcceptancePart:
    """Every acceptance round that counts, with its readings and departures."""
    asked = acceptance_of(surface, units)
    rounds = surface.rounds.active().filter(purpose=Purpose.ACCEPTANCE).order_by("tested_on", "created_at")
    return AcceptancePart(
        asked=asked.reason
        if asked
        else "No acceptance rate was agreed and no rule that was chosen gives one.",
        source=f"{asked.source.citation}. {asked.source.note}" if asked else "",
        rounds=[_round(round_, surface, units) for round_ in rounds.select_related("recorded_by")],
    )


def _round(round_: TestRound, surface: Surface, units: str) -> RoundPart:
    round_.surface = surface
    result = round_result(round_, units)
    verdict, leading = result.acceptance, result.leading
    return RoundPart(
        on=day(round_.tested_on),
        by=str(round_.recorded_by or "unknown"),
        weather=_weather(round_, units),
        mean=_said_by(leading, leading.statistics.mean, units) if leading else "none",
        lowest=_said_by(leading, leading.statistics.lowest, units) if leading else "none",
        spots=f"{result.spots} of at least {result.needed}",
        judgement=verdict.judgement.value if verdict else "",
        verdict=verdict.judgement.label if verdict else "",
        reason=verdict.reason if verdict else "",
        departures=[found.message for found in result.deviations],
        tests=_tests(result, units),
        files=file_parts(round_.attachments.all()),
    )


def _tests(result: RoundResult, units: str) -> list[TestLine]:
    return [
        TestLine(
            spot=test.place if test.is_ring else f"{test.place}, {test.get_method_display().lower()}",
            rate=_result(test, units),
            read=_as_read(test),
            departures=[found.message for found in test.deviations],
        )
        for test in result.tests
    ]


def _result(test: InfiltrationTest, units: str) -> str:
    """The rate as its method measured it, with the published range of what a ring might have read."""
    if test.rate_mm_h is None:
        return f"{figure(test.own_value)} {test.own_unit}, not a rate"
    measured = _rate(test.rate_mm_h, test.bound, units)
    for found in converted_ranges(test)[:1]:
        low, high = _rate(found.low_mm_h, "=", units), _rate(found.high_mm_h, "=", units)
        return f"{measured} (converted: a ring might have read {low} to {high})"
    return measured


def _as_read(test: InfiltrationTest) -> str:
    if not test.is_ring:
        return "; ".join(line.in_words() for line in lines_of(test))
    units = test.units
    prewet = f"prewet {figure(test.prewet_time_s)} s, " if test.prewet_time_s is not None else ""
    return (
        f"{prewet}{figure(test.test_mass)} {units['mass']} in {figure(test.elapsed_s)} s, "
        f"ring {figure(test.ring_diameter)} {units['length']}"
    )


def _weather(round_: TestRound, units: str) -> str:
    rain = round_.hours_since_rain
    said_parts = [
        "last rain not recorded" if rain is None else f"last rain {figure(rain)} h before",
        "water stood on the surface" if round_.standing_water else "no standing water",
    ]
    if round_.air_temperature_c is not None:
        said_parts.append(f"air {format_measure(round_.air_temperature_c, Quantity.TEMPERATURE, units)}")
    return ", ".join(said_parts)


def _said_by(result: MethodResult, found: Summary | Rate, units: str) -> str:
    """A rate of a round, with the method's name where it is not the ring that an acceptance rate is asked of."""
    by = "" if result.is_ring else f" by {result.method.in_sentence}"
    return _rate(found.rate_mm_h, found.bound, units) + by


def _rate(rate_mm_h: float, bound: str, units: str) -> str:
    text = format_rate(rate_mm_h, units)
    return text if bound == Bound.EXACT else f"{bound} {text}"


def grading_parts(surface: Surface) -> list[GradingPart]:
    """The sieve analyses that count."""
    return [_grading(grading) for grading in surface_gradation(surface).recorded]


def _grading(grading: Grading) -> GradingPart:
    sieving = grading.sieving
    return GradingPart(
        layer=sieving.layer_name or "Sample without a layer",
        on=day(sieving.sampled_on),
        by=sieving.sampled_by or str(sieving.recorded_by or "unknown"),
        band=sieving.band.name,
        passes=grading.result.passes,
        source=f"{sieving.band.source.citation}. {sieving.band.source.note}",
        lines=[
            SieveLine(row.label, _percent(row.passing), _limits(row.low, row.high), row.state)
            for row in grading.rows
        ],
        remarks=[*(found.reason for found in grading.result.failures), *grading.warnings],
    )


def _percent(value: float | None) -> str:
    return "–" if value is None else f"{value:.1f} %"


def _limits(low: float | None, high: float | None) -> str:
    return "–" if low is None or high is None else f"{low:g} to {high:g} %"
