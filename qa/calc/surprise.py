"""A result so far from what was expected that a slip is likelier than the surface: asked about, never refused."""

from dataclasses import dataclass

from core.calc.bounds import Bound
from core.calc.format import fixed, format_rate
from core.calc.paving import TestMethod
from core.calc.translation import gettext as _
from core.calc.units import UnitSystem

FAR = 3.0  # times, or a third: spots of one surface seldom differ so much from its mean; our judgement, no source
READ_LIKE_RING = frozenset({TestMethod.RING, TestMethod.FRAME})  # what forecasts are told in


@dataclass(frozen=True, slots=True)
class ExpectedRate:
    """What the model expects of a surface on a day, in mm/h, with the ends of its 80 % range."""

    rate_mm_h: float
    low_mm_h: float
    high_mm_h: float


def surprise(rate_mm_h: float | None, bound: Bound, expected: ExpectedRate) -> str:
    """Which way a result lies more than FAR times off and out of the range: "above", "below", or empty.

    A bound surprises only where every rate it leaves open does: "less than 2,000" says nothing against 400.
    """
    if rate_mm_h is None or bound is Bound.UNCLEAR:
        return ""
    above = rate_mm_h > max(FAR * expected.rate_mm_h, expected.high_mm_h)
    below = rate_mm_h < min(expected.rate_mm_h / FAR, expected.low_mm_h)
    if above and bound is not Bound.BELOW:
        return "above"
    return "below" if below and bound is not Bound.ABOVE else ""


def surprise_words(rate_mm_h: float, way: str, expected: ExpectedRate, units: UnitSystem) -> str:
    """What to look at again before it is stored."""
    if way == "above":
        times = rate_mm_h / expected.rate_mm_h
        said = _("{rate} is {times} times as fast as expected here: {expected}, most likely {low} to {high}.")
    else:
        times = expected.rate_mm_h / max(rate_mm_h, 1e-9)
        said = _(
            "{rate} is {times} times slower than expected here: {expected}, most likely {low} to {high}."
        )
    told = said.format(
        rate=format_rate(rate_mm_h, units),
        times=fixed(times, 0),
        expected=format_rate(expected.rate_mm_h, units),
        low=format_rate(expected.low_mm_h, units),
        high=format_rate(expected.high_mm_h, units),
    )
    again = _("Look at the clock, the mass of water and the spot again. If it holds, tick this to keep it.")
    return f"{told} {again}"
