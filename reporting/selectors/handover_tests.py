"""The acceptance rounds and the sieve analyses in the handover record."""

from django.utils.translation import gettext as _

from accounts.calc.audience import Audience, Matter
from core.calc.bounds import Bound
from core.calc.format import figure, format_measure, format_rate
from core.calc.paving import TestMethod
from core.calc.units import Quantity
from qa.calc.citing import VerifiedSources, cited
from qa.calc.rounds import Purpose, Rate, Summary
from qa.calc.standards import ring_standard
from qa.models import InfiltrationTest, Surface, TestRound
from qa.presentation.readings_table import converted_ranges, lines_of
from qa.selectors.gradation import Grading, surface_gradation
from qa.selectors.rounds import RoundResult, acceptance_verdict, needed_locations, round_result
from reporting.calc.handover import GradingPart, HandoverAcceptance, RoundPart, SieveLine, TestLine
from reporting.calc.values import BoundedRate, in_both
from reporting.selectors.parts import acceptance_asked, active_file_parts, care_part


def acceptance_rounds(surface: Surface, audience: Audience, verified: VerifiedSources) -> HandoverAcceptance:
    """Every acceptance round that counts, with its readings and departures."""
    rounds = surface.rounds.active().filter(purpose=Purpose.ACCEPTANCE).order_by("tested_on", "created_at")
    return HandoverAcceptance(
        asked=acceptance_asked(surface, verified),
        rounds=tuple(_round(round_, surface, audience) for round_ in rounds.select_related("recorded_by")),
        ring=care_part(_("Constant-head single ring."), ring_standard(surface.surface_type), verified),
    )


def _round(round_: TestRound, surface: Surface, audience: Audience) -> RoundPart:
    round_.surface = surface
    result = round_result(round_, "si")
    leading, statistics = result.leading, result.statistics
    judgement = acceptance_verdict(surface, result, "si").judgement
    return RoundPart(
        key=round_.pk,
        on=round_.tested_on,
        by=audience.shown(Matter.PEOPLE, str(round_.recorded_by or _("unknown")), ""),
        weather=in_both(lambda units: weather_said(round_, units)),
        mean=bounded(statistics.mean) if statistics else None,
        lowest=bounded(statistics.lowest) if statistics else None,
        by_method="" if leading is None or leading.is_ring else leading.method.in_sentence,
        spots=in_both(lambda units: spots_said(surface, result, units)),
        judgement=judgement,
        verdict=judgement.label,
        reason=in_both(lambda units: acceptance_verdict(surface, result, units).reason),
        departures=tuple(f"{found.message} {found.effect.label}." for found in result.deviations),
        tests=tuple(map(test_line, result.standing)),
        files=active_file_parts(round_.attachments.all(), audience),
    )


def bounded(found: Rate | Summary) -> BoundedRate:
    """A rate or a mean with what it bounds."""
    return BoundedRate(found.rate_mm_h, found.bound)


def spots_said(surface: Surface, result: RoundResult, units: str) -> str:
    """How many spots of how many, by the rule of the units the tests were taken in; of the reader's without tests."""
    needed = result.needed if result.tests or result.invalid else needed_locations(surface, units)
    return _("{spots} of at least {needed}").format(spots=result.spots, needed=needed)


def test_line(test: InfiltrationTest) -> TestLine:
    """One test with its result, its readings and its departures."""
    return TestLine(
        spot=test.place if test.is_ring else f"{test.place}, {TestMethod(test.method).in_sentence}",
        rate=None if test.rate_mm_h is None else BoundedRate(test.rate_mm_h, Bound(test.bound)),
        text=in_both(lambda units: _result(test, units)),
        read=_as_read(test),
        departures=tuple(f"{found.message} {found.effect.label}." for found in test.deviations),
        left_out="; ".join(found.consequence.in_short for found in test.voided_by),
    )


def _result(test: InfiltrationTest, units: str) -> str:
    """The rate as its method measured it, with the published range of what a ring might have read."""
    if test.rate_mm_h is None:
        value = f"{figure(test.own_value)} {test.own_unit}"
        return _left_out(test, _("{value}, not a rate").format(value=value))
    sign = "" if test.bound == Bound.EXACT else f"{test.bound} "
    measured = _left_out(test, f"{sign}{format_rate(test.rate_mm_h, units)}")
    for found in converted_ranges(test)[:1]:
        low, high = format_rate(found.low_mm_h, units), format_rate(found.high_mm_h, units)
        said = _("{measured} (converted: a ring might have read {low} to {high})")
        return said.format(measured=measured, low=low, high=high)
    return measured


def _left_out(test: InfiltrationTest, found: str) -> str:
    """What a test found, behind that it does not count where it does not."""
    return found if test.is_valid else _("Left out: {found}").format(found=found)


def _as_read(test: InfiltrationTest) -> str:
    if not test.is_ring:
        return "; ".join(line.in_words() for line in lines_of(test))
    units = test.units
    said = _("{mass} in {time} s, ring {ring}")
    if test.prewet_time_s is not None:
        said = _("prewet {prewet} s, {mass} in {time} s, ring {ring}")
    return said.format(
        prewet=figure(test.prewet_time_s),
        mass=f"{figure(test.test_mass)} {units['mass']}",
        time=figure(test.elapsed_s),
        ring=f"{figure(test.ring_diameter)} {units['length']}",
    )


def weather_said(round_: TestRound, units: str) -> str:
    """The weather of a round in a few words."""
    rain = round_.hours_since_rain
    said_parts = [
        _("last rain not recorded")
        if rain is None
        else _("last rain {hours} h before").format(hours=figure(rain)),
        _("water stood on the surface") if round_.standing_water else _("no standing water"),
    ]
    if round_.air_temperature_c is not None:
        air = format_measure(round_.air_temperature_c, Quantity.TEMPERATURE, units)
        said_parts.append(_("air {temperature}").format(temperature=air))
    return ", ".join(said_parts)


def grading_parts(surface: Surface, audience: Audience, verified: VerifiedSources) -> tuple[GradingPart, ...]:
    """The sieve analyses that count."""
    return tuple(_grading(grading, audience, verified) for grading in surface_gradation(surface).recorded)


def _grading(grading: Grading, audience: Audience, verified: VerifiedSources) -> GradingPart:
    sieving, said = grading.sieving, cited(grading.sieving.band.source, verified)
    by = sieving.sampled_by or str(sieving.recorded_by or _("unknown"))
    return GradingPart(
        layer=sieving.layer_name or _("Sample without a layer"),
        on=sieving.sampled_on,
        by=audience.shown(Matter.PEOPLE, by, ""),
        band=sieving.band.name,
        passes=grading.result.passes,
        source=said.text,
        unverified=said.unverified,
        lines=tuple(SieveLine(row.label, row.passing, row.low, row.high, row.state) for row in grading.rows),
        remarks=(*(found.reason for found in grading.result.failures), *grading.warnings),
    )
