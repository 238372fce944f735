"""What a reading is worth once its deviations are known: the rate itself, a bound, or nothing."""

from dataclasses import dataclass

from core.calc.bounds import Bound
from core.calc.format import format_rate
from core.calc.paving import TestMethod
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, pgettext
from core.calc.units import UnitSystem
from qa.calc.deviations import Deviation, bounding, deviation
from qa.calc.numbers import short

RAIN_FREE_H = 24.0
FASTEST_MM_H = 200_000.0  # open gravel drains slower than this; our judgement, no source
# A falling head reads up to ten times as much as the ring: Li, Kayhanian & Harvey 2013 (looked up).
FASTEST_FALLING_HEAD_MM_H = 10 * FASTEST_MM_H

# The 24 h are a rule of the ring test; a frame reads like it, and a bucket's spread rests on a dry surface.
_NEED_DRY_DAY = frozenset({TestMethod.RING, TestMethod.FRAME, TestMethod.SPREADING_AREA})
# Flooding wants a saturated surface, and the outflow meter may stand on a wet one (EN 12697-40, looked up).
_MAY_STAND_WET = frozenset({TestMethod.FLOODING, TestMethod.OUTFLOW_METER})
WEATHER = frozenset({"recent_rain", "standing_water"})  # deviations that void a whole round


@dataclass(frozen=True, slots=True)
class RoundConditions:
    """The weather of a round. hours_since_rain: None where unknown."""

    hours_since_rain: float | None
    standing_water: bool


def concluded(
    bound: Bound,
    found: tuple[Deviation, ...],
    rate_mm_h: float | None,
    method: TestMethod,
    system: UnitSystem,
) -> tuple[Bound, tuple[Deviation, ...]]:
    """The bound that a reading is with its deviations, and the deviations that only the whole shows.

    bound: by how the test ended. rate_mm_h: None for methods without a rate.
    """
    found = (*found, *_faster_than_gravel(rate_mm_h, method, system))
    if not bounding(found):
        return bound, found
    if bound is Bound.ABOVE:
        return Bound.UNCLEAR, (*found, _bounded_both_ways())
    return Bound.BELOW, found


def fastest_mm_h(method: TestMethod) -> float:
    """The rate in mm/h above which a reading by this method is a mistake."""
    return FASTEST_FALLING_HEAD_MM_H if method is TestMethod.FALLING_HEAD else FASTEST_MM_H


def _faster_than_gravel(
    rate_mm_h: float | None, method: TestMethod, system: UnitSystem
) -> tuple[Deviation, ...]:
    most = fastest_mm_h(method)
    if rate_mm_h is None or rate_mm_h <= most:
        return ()
    found = deviation(
        "faster_than_gravel",
        rate_mm_h,
        gettext_noop("at most {most}"),
        gettext_noop(
            "{rate} is faster than open gravel drains ({most}). "
            "Check mass or volume, sizes and time, and correct them; until then this test does not count."
        ),
        # So fast that neither has decimals, whose mark the language would choose.
        rate=format_rate(rate_mm_h, system),
        most=format_rate(most, system),
    )
    return (found,)


def _bounded_both_ways() -> Deviation:
    message = gettext_noop(
        "The water drained too fast to hold the head, so the rate is at least this, and another deviation makes "
        "it at most this: the test says nothing. Repeat it by the method."
    )
    return Deviation("bounded_both_ways", None, gettext_noop("bounded on one side"), message)


def weather_deviations(conditions: RoundConditions, method: TestMethod) -> tuple[Deviation, ...]:
    """Deviations by the weather of the round, as they concern tests by one method."""
    found = []
    rain = conditions.hours_since_rain
    if rain is not None and rain < RAIN_FREE_H:
        found.append(_recent_rain(rain, method))
    if conditions.standing_water:
        key = "wet_surface" if method in _MAY_STAND_WET else "standing_water"
        message = gettext_noop("Water stood on the surface. Wait until it is gone, then test.")
        found.append(Deviation(key, None, pgettext("water on the surface", "none"), message))
    return tuple(found)


def _recent_rain(rain_h: float, method: TestMethod) -> Deviation:
    key = "recent_rain" if method in _NEED_DRY_DAY else "rain_before"
    message = _(
        "It rained {hours} h before the tests; at least {asked} h without rain are asked. "
        "Test again after a dry day; a wet build-up shows a lower rate."
    )
    asked = short(RAIN_FREE_H)
    return Deviation(
        key,
        rain_h,
        _("at least {asked} h").format(asked=asked),
        message.format(hours=short(rain_h), asked=asked),
    )
