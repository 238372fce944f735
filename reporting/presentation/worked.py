"""Figures of a surface's forecast worked through with its own numbers."""

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise
from math import log

from core.calc.format import day, figure, format_rate
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display
from maintenance.calc.actions import DAYS_A_YEAR, LIKELY_SHARE
from maintenance.calc.decline import DeclineRecord, RoundMean
from maintenance.calc.forecast_payload import RateCurve
from maintenance.calc.vocabulary import RecordKind
from qa.presentation.worked import Worked
from reporting.calc.parts import ForecastPart, RecordLine

MODEL = "the model of decline, averaged over what is known of its parameters"
LEAST_SHOWN = 0.001
GAIN_ALIKE = 0.01  # of the gain: rounds that do not give it are not those it was read from
_POINTS = ((0.025, "lo95"), (0.10, "lo80"), (0.50, "median"), (0.90, "hi80"), (0.975, "hi95"))


def worked_forecast(forecast: ForecastPart | None, units: str) -> tuple[Worked, ...]:
    """The chance of being below the limit today, and the day by which it is likely; nothing without curves."""
    decline = forecast.decline if forecast else None
    if forecast is None or decline is None or forecast.share_below_now is None:
        return ()
    record = decline.record
    return _chance(record, forecast.share_below_now, units), _reached(record, forecast.below_50_on)


def _chance(record: DeclineRecord, share: float, units: str) -> Worked:
    limit = format_rate(record.limit_mm_h, units)
    return Worked(
        "P = share of what is possible with x < ln L",
        f"x = {_logs(record.future, 0, units)}; L = {limit}",
        "x the logarithm of the rate today and b of the rate as new, both with their 80 % range, λ the loss a year "
        "of the coming year, L the limit. A range ends where a tenth of what is possible lies beyond.",
        MODEL,
        "the chance",
        (
            f"b = {_logs(record.past, 0, units)}; {_loss(record.future, units)}",
            f"{_between(record.future, record.limit_mm_h, units)}; P = {_percent(share)}",
        ),
    )


def _logs(curve: RateCurve, at: int, units: str) -> str:
    low, middle, high = (_number(line[at], units) for line in (curve.lo80, curve.median, curve.hi80))
    return f"ln {middle} = {log(_read(middle)):.2f} (ln {low} to ln {high})"


def _loss(curve: RateCurve, units: str) -> str:
    """What the middle of the forecast loses in the coming year."""
    at = min(range(len(curve.on)), key=lambda i: abs((curve.on[i] - curve.on[0]).days - DAYS_A_YEAR))
    first, later = _number(curve.median[0], units), _number(curve.median[at], units)
    return f"λ = ln({first} / {later}) = {log(_read(first) / _read(later)):.2f} until {day(curve.on[at])}"


def _between(curve: RateCurve, limit_mm_h: float, units: str) -> str:
    """Between which points of the range the limit lies."""
    found = [(share, getattr(curve, name)[0]) for share, name in _POINTS]
    if limit_mm_h < found[0][1]:
        return f"L lies below {format_rate(found[0][1], units)}, which {_percent(found[0][0])} fall short of"
    for (low, below), (high, above) in pairwise(found):
        if below <= limit_mm_h <= above:
            return (
                f"L lies between {format_rate(below, units)} ({_percent(low)}) and {format_rate(above, units)} "
                f"({_percent(high)})"
            )
    return f"L lies above {format_rate(found[-1][1], units)}, which {_percent(found[-1][0])} fall short of"


def _reached(record: DeclineRecord, shown: date | None) -> Worked:
    on, below = record.future.on, record.below
    at = next((i for i, share in enumerate(below) if share >= LIKELY_SHARE), None)
    if at is None:
        said, then = f"P = {_percent(below[-1])} on {day(on[-1])}", "below 50 % to the end of the forecast"
    elif at == 0:
        said, then = f"P = {_percent(below[0])} on {day(on[0])}", "50 % or more already"
    else:
        said = f"P = {_percent(below[at - 1])} on {day(on[at - 1])}, {_percent(below[at])} on {day(on[at])}"
        then = f"50 % in between, on {day(shown)}"
    return Worked(
        "first day t with P(x(t) < ln L) = 50 %",
        said,
        "x(t) begins at x and falls by λ a year, with both in doubt, as long as nothing is done. Between two days of "
        "the forecast the chance is read along a smooth curve.",
        MODEL,
        "the day",
        (then,),
    )


def worked_gain(lines: Iterable[RecordLine], forecast: ForecastPart | None, units: str) -> Worked | None:
    """How the newest gain that tests show was read; None where no two rounds of the ring on both sides give it."""
    rounds = forecast.decline.record.rounds if forecast and forecast.decline else ()
    for line in lines:
        measured = line.gain.measured_factor if line.gain else None
        if line.kind is RecordKind.CLEANING and line.is_active and measured:
            return _gain(line, measured, rounds, units)
    return None


def _gain(line: RecordLine, measured: float, rounds: Sequence[RoundMean], units: str) -> Worked | None:
    before = max((one for one in rounds if one.on <= line.on), key=lambda one: one.on, default=None)
    after = min((one for one in rounds if one.on >= line.on), key=lambda one: one.on, default=None)
    if before is None or after is None or abs(after.mean_mm_h / before.mean_mm_h / measured - 1) > GAIN_ALIKE:
        return None
    later, earlier = _number(after.mean_mm_h, units), _number(before.mean_mm_h, units)
    return Worked(
        "gain = rate after / rate before",
        f"gain = {later} / {earlier} = {figure(measured)} times",
        f"Geometric means of the rounds of {day(before.on)} and {day(after.on)}, nearest to the cleaning of "
        f"{day(line.on)}.",
        "arithmetic",
        "the gain",
    )


def _number(rate_mm_h: float, units: str) -> str:
    return rounded_for_reading(to_display(rate_mm_h, Quantity.RATE, UnitSystem(units)).value)


def _read(shown: str) -> float:
    """A number as it stands on the page, whose thousands are parted by a narrow blank."""
    return float("".join(shown.split()))


def _percent(share: float) -> str:
    """To the tenth, and never 0 or 100: the model is sure of nothing."""
    if share < LEAST_SHOWN:
        return "under 0.1 %"
    return "over 99.9 %" if share > 1.0 - LEAST_SHOWN else f"{100 * share:.1f} %"
