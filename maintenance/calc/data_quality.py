"""What is odd in a surface's record, and what a person can do about it.

The model bears odd records; people should still know, since a misread stopwatch looks like a healed surface.
"""

from collections.abc import Sequence

from core.calc.translation import gettext_noop
from maintenance.calc.forecast_payload import RoundAgainstForecast
from maintenance.calc.text import day, number, rate
from qa.calc.validity import FASTEST_MM_H

UNLIKELY = 0.001
MANY_CLEANINGS = 3
ONLY_BOUNDS = gettext_noop(
    "Every test is only a bound, so the rate is known from one side. Use the larger test mass, or wait until no water "
    "is left, to learn the rate itself."
)
NEVER_TESTED = gettext_noop(
    "{number1} cleanings are recorded and no test, so what they gave is unknown. Record a test round."
)
TOO_FAST = gettext_noop(
    "A test shows {rate1}, faster than open gravel drains. Check mass, ring and time of that test; until it is "
    "corrected it does not count."
)
FASTER = gettext_noop(
    "The round of {day1} showed {number1} times the rate that was expected then. Check its readings and whether a "
    "cleaning before it is missing here; correct the record, or set the round aside."
)
SLOWER = gettext_noop(
    "The round of {day1} showed only {number1} % of the rate that was expected then. Check its readings and whether a "
    "cleaning before it is missing here; correct the record, or set the round aside."
)


def data_quality_notes(
    rounds: Sequence[RoundAgainstForecast],
    *,
    tests: int,
    bounded_tests: int,
    cleanings: int,
    fastest_mm_h: float,
) -> list[str]:
    """Sentences for `text.speak`, each with what to do; empty for an ordinary record.

    tests, bounded_tests: counting tests, and those of them that are only bounds. fastest_mm_h: highest rate read,
    also by a test that does not count until it is corrected.
    """
    found = [_surprise(seen) for seen in rounds if seen.pit_hi < UNLIKELY or seen.pit_lo > 1.0 - UNLIKELY]
    if tests and bounded_tests == tests:
        found.append(ONLY_BOUNDS)
    if cleanings >= MANY_CLEANINGS and not tests:
        found.append(NEVER_TESTED.format(number1=number(cleanings)))
    if fastest_mm_h > FASTEST_MM_H:
        found.append(TOO_FAST.format(rate1=rate(fastest_mm_h)))
    return found


def _surprise(seen: RoundAgainstForecast) -> str:
    ratio = seen.measured_mm_h / seen.expected_mm_h.median
    if ratio >= 1:
        return FASTER.format(day1=day(seen.on), number1=number(f"{ratio:.2g}"))
    return SLOWER.format(day1=day(seen.on), number1=number(f"{100 * ratio:.2g}"))
